"""What is kept: cases, trays, plans, documents and accounts in a database of the clinic's own, pictures beside it."""

from rootfill.store.picture_files import open_pictures
from rootfill.store.store import Store, open_store

__all__ = ["Store", "open_pictures", "open_store"]
