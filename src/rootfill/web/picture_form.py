"""A form with files, taken apart while it comes: texts by their names, files straight to the disk."""

from __future__ import annotations

from typing import TYPE_CHECKING

from python_multipart import MultipartParser
from python_multipart.exceptions import FormParserError
from python_multipart.multipart import parse_options_header
from starlette.concurrency import run_in_threadpool
from starlette.requests import Request

from rootfill.clinic.ports import Incoming
from rootfill.errors import InputRefused, RootfillError
from rootfill.web.errors import Refused

if TYPE_CHECKING:
    from python_multipart.multipart import MultipartCallbacks

BLOCK = 2**20
LONGEST_TEXT = 2000
MOST_TEXTS = 20


async def take(request: Request, incoming: Incoming) -> dict[str, str]:
    """Files into ``incoming``; the texts. Raises InputRefused, NotKept, Refused for what is no whole form."""
    taker = _Taker(request.headers.get("content-type", ""), incoming)
    waiting, refused = bytearray(), None
    async for block in request.stream():
        if refused is not None:
            continue  # a browser that is still sending would never see the answer
        waiting += block
        if len(waiting) >= BLOCK:
            refused = await run_in_threadpool(taker.refuses, bytes(waiting))
            waiting.clear()
    refused = refused or await run_in_threadpool(taker.refuses, bytes(waiting))
    if refused is not None:
        raise refused
    return taker.texts()


class _Taker:
    """What stands in the form so far."""

    def __init__(self, content_type: str, incoming: Incoming) -> None:
        kind, options = parse_options_header(content_type)
        boundary = options.get(b"boundary", b"")
        if kind != b"multipart/form-data" or not boundary:
            raise InputRefused("the picture", None, "send it as a form with files")
        self._incoming = incoming
        self._texts: dict[str, bytearray] = {}
        self._name = ""
        self._header, self._value = b"", b""
        self._disposition = b""
        self._is_file = self._whole = False
        told: MultipartCallbacks = {
            "on_part_begin": self._begin,
            "on_part_data": self._data,
            "on_header_field": self._header_field,
            "on_header_value": self._header_value,
            "on_header_end": self._header_end,
            "on_headers_finished": self._headers_end,
            "on_end": self._end,
        }
        self._parser = MultipartParser(boundary, told)

    def refuses(self, block: bytes) -> RootfillError | Refused | None:
        """Take more of the form; why it cannot be taken, where it cannot."""
        try:
            self._parser.write(block)
        except FormParserError:
            return _not_whole()
        except (RootfillError, Refused) as error:
            return error
        return None

    def texts(self) -> dict[str, str]:
        if not self._whole:
            raise _not_whole()
        return {name: bytes(text).decode("utf-8", "replace") for name, text in self._texts.items()}

    def _begin(self) -> None:
        self._disposition = b""
        self._is_file, self._name = False, ""

    def _header_field(self, data: bytes, start: int, end: int) -> None:
        self._header += data[start:end]

    def _header_value(self, data: bytes, start: int, end: int) -> None:
        self._value += data[start:end]

    def _header_end(self) -> None:
        if self._header.lower() == b"content-disposition":
            self._disposition = self._value
        self._header, self._value = b"", b""

    def _headers_end(self) -> None:
        _, options = parse_options_header(self._disposition)
        self._name = options.get(b"name", b"").decode("utf-8", "replace")
        named = options.get(b"filename")
        self._is_file = named is not None
        if named is None:
            if len(self._texts) == MOST_TEXTS:
                raise _not_whole()
            self._texts[self._name] = bytearray()
        elif named:  # a field of files in which none was chosen comes as one without a name
            self._incoming.begin(named.decode("utf-8", "replace"))
        else:
            self._is_file, self._name = True, ""

    def _data(self, data: bytes, start: int, end: int) -> None:
        if self._is_file:
            self._incoming.write(data[start:end])
            return
        text = self._texts[self._name]
        if len(text) + end - start > LONGEST_TEXT:
            raise InputRefused(self._name[:40] or "the form", f"{len(text)} signs and more", "say it shorter")
        text += data[start:end]

    def _end(self) -> None:
        self._whole = True


def _not_whole() -> Refused:
    return Refused(400, "not_readable", "The picture did not come whole; keep it once more.")
