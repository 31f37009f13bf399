"""Slow evidence: each module here has ``run(seed) -> dict`` and ``COVERS``, the paths it speaks for."""
