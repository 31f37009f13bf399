"""rootfill: one model of each canal, what to set on the tray, and what to expect.

Decision support for trained, licensed clinicians; local rules and the makers' instructions come first;
not validated as a medical device. The floors below the use cases are a library of pure computations:
``rootfill.tooth``, ``rootfill.tray``, ``rootfill.fit``, ``rootfill.plan``, ``rootfill.drawing``.
"""
