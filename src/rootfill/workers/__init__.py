"""Long computations in processes of their own, so that the page goes on answering meanwhile."""

from rootfill.workers.pool import Pool

__all__ = ["Pool"]
