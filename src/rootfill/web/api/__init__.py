"""The same use cases for programs: JSON in, JSON out, every answer described in /openapi.json."""

from rootfill.web.api.router import api

__all__ = ["api"]
