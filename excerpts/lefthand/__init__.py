"""The left hand: strings, positions and fingers from the notes, and where most of its work is.

It proposes; it knows no player. Against ten violinists the string is right about as often as one of them agrees with
another, position and finger less often.
"""
