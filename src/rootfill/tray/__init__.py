"""What the canal is filled with: instruments and materials."""

from rootfill.tray.model import Compound, Cone, HeatedTip, Needle, Plugger, Rod, Sealer, Stiff, Tray

__all__ = ["Compound", "Cone", "HeatedTip", "Needle", "Plugger", "Rod", "Sealer", "Stiff", "Tray"]
