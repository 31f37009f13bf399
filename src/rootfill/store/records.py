"""Everything that is kept but the accounts."""

from __future__ import annotations

from rootfill.store.cases import Cases
from rootfill.store.plans import Plans
from rootfill.store.trays import Trays


class Records(Cases, Plans, Trays):
    """The port ``rootfill.clinic.ports.Records`` on a database."""
