"""Teeth with known truth: drawn by chance, painted as scans, the facts beside them; shares nothing with any reader."""

from __future__ import annotations

from rootfill.phantom.fill import filled, filling_truth
from rootfill.phantom.paint import Grid
from rootfill.phantom.shapes import Egg, Loft, Sheet, Tube
from rootfill.phantom.teeth import random_tooth
from rootfill.phantom.tooth import Canal, Filling, Isthmus, Join, Root, Stuff, Tooth, Void
from rootfill.phantom.truth import truth_of
from rootfill.phantom.volume import CBCT, MICRO, Greys, Scan, Scanner, grid_of, paint, turned

__all__ = [
    "CBCT",
    "MICRO",
    "Canal",
    "Egg",
    "Filling",
    "Greys",
    "Grid",
    "Isthmus",
    "Join",
    "Loft",
    "Root",
    "Scan",
    "Scanner",
    "Sheet",
    "Stuff",
    "Tooth",
    "Tube",
    "Void",
    "filled",
    "filling_truth",
    "grid_of",
    "paint",
    "random_tooth",
    "truth_of",
    "turned",
]
