"""Instruments: strings, hands, keys and clefs."""
