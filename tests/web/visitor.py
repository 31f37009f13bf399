"""Somebody at the page, without a browser: keeps cookies, sends what a browser would send."""

from __future__ import annotations

import asyncio
from typing import Any

import httpx
from fastapi import FastAPI

PORT = 8731
HOME = f"http://127.0.0.1:{PORT}"
FOREIGN = {"Origin": "http://evil.test", "Sec-Fetch-Site": "cross-site"}


class Visitor:
    """Asks an application directly; errors that escape it are raised here. Redirects are not followed."""

    def __init__(self, app: FastAPI, **headers: str) -> None:
        self.app = app
        self.headers = headers
        self.cookies = httpx.Cookies()
        self.csrf = ""

    def get(self, path: str, **given: Any) -> httpx.Response:
        return self.ask("GET", path, **given)

    def post(self, path: str, **given: Any) -> httpx.Response:
        return self.ask("POST", path, **given)

    def send(self, path: str, **fields: str) -> httpx.Response:
        """A form of the page, with its secret."""
        return self.post(path, data={"csrf": self.csrf, **fields})

    def ask(self, method: str, path: str, **given: Any) -> httpx.Response:
        return asyncio.run(self._ask(method, path, given))

    async def _ask(self, method: str, path: str, given: dict[str, Any]) -> httpx.Response:
        transport = httpx.ASGITransport(app=self.app)
        async with httpx.AsyncClient(
            transport=transport, base_url=HOME, headers=self.headers, cookies=self.cookies
        ) as client:
            answer = await client.request(method, path, **given)
            self.cookies = client.cookies
        return answer
