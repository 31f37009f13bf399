"""A case in, a plan out."""

from rootfill.plan.case import Case
from rootfill.plan.model import CanalPlan, Plan, Seen
from rootfill.plan.plan import estimates, make_plan
from rootfill.plan.settings import FULL, QUICK, Effort
from rootfill.plan.unaffected import unaffected

__all__ = ["FULL", "QUICK", "CanalPlan", "Case", "Effort", "Plan", "Seen", "estimates", "make_plan", "unaffected"]
