"""Invented teeth as a scanner would see them, with the truth beside them; shares nothing with what reads pictures."""
