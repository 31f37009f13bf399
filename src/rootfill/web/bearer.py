"""How a program says who it is, for whoever reads the description of the API; the guard looks at it."""

from __future__ import annotations

from fastapi import Depends
from fastapi.security import HTTPBearer

_SCHEME = HTTPBearer(
    scheme_name="token", auto_error=False, description="The token of /api/sign-in; good for twelve hours at most."
)
BEARER = Depends(_SCHEME)
"""A dependency of every operation that is not open."""
