"""A case in, a plan out."""

from rootfill.plan.case import Case
from rootfill.plan.model import CanalPlan, Plan
from rootfill.plan.plan import estimates, make_plan

__all__ = ["CanalPlan", "Case", "Plan", "estimates", "make_plan"]
