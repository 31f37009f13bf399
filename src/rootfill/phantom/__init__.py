"""Teeth with known truth: drawn by chance, painted as scans, the facts beside them; shares nothing with any reader."""

from __future__ import annotations

from rootfill.phantom.fill import filled, filling_truth
from rootfill.phantom.film import STILL, Detector, film
from rootfill.phantom.film_truth import film_truth
from rootfill.phantom.paint import Grid
from rootfill.phantom.scene import Rod, Scene
from rootfill.phantom.shapes import Egg, Loft, Sheet, Tube
from rootfill.phantom.teeth import random_tooth
from rootfill.phantom.tooth import Canal, Filling, Isthmus, Join, Root, Stuff, Tooth, Void
from rootfill.phantom.truth import truth_of
from rootfill.phantom.view import View
from rootfill.phantom.volume import CBCT, MICRO, Greys, Scan, Scanner, grid_of, paint, turned

__all__ = [
    "CBCT",
    "MICRO",
    "STILL",
    "Canal",
    "Detector",
    "Egg",
    "Filling",
    "Greys",
    "Grid",
    "Isthmus",
    "Join",
    "Loft",
    "Rod",
    "Root",
    "Scan",
    "Scanner",
    "Scene",
    "Sheet",
    "Stuff",
    "Tooth",
    "Tube",
    "View",
    "Void",
    "filled",
    "filling_truth",
    "film",
    "film_truth",
    "grid_of",
    "paint",
    "random_tooth",
    "truth_of",
    "turned",
]
