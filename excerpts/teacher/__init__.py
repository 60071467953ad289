"""The teacher's own pages: lesson sheet, board of the studio, progress, notes; not for a player's stand.

Nothing is imported here: whoever only asks where a player stands must not load what draws charts.
"""
