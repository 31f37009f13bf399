"""The call-out line: what the operator calls across the chair, typed in one line, and what it means for the case."""

from rootfill.clinic.callout.model import Heard, Understood
from rootfill.clinic.callout.understand import understand

__all__ = ["Heard", "Understood", "understand"]
