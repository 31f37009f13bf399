"""What is kept: cases, trays, plans, documents and accounts, in a database of the clinic's own."""

from rootfill.store.store import Store, open_store

__all__ = ["Store", "open_store"]
