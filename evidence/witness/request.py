"""Asking a time-stamping authority (RFC 3161): the request, and its way over HTTP (§ 3.4).

The request carries a SHA-256 and nothing else of the record. It goes to the one address that the
user named: another address to which that one points is told, never followed.
"""

import time
from dataclasses import dataclass
from http.client import HTTPException, HTTPResponse
from typing import IO
from urllib.error import HTTPError, URLError
from urllib.parse import urlsplit
from urllib.request import (
    HTTPDefaultErrorHandler,
    HTTPErrorProcessor,
    HTTPHandler,
    HTTPSHandler,
    OpenerDirector,
    ProxyHandler,
    Request,
)

from evidence.errors import EvidenceError, RefusedError
from evidence.witness.timestamp import MAX_BYTES

REQUEST_TYPE = "application/timestamp-query"
REPLY_TYPE = "application/timestamp-reply"
TIMEOUT = 20.0
"""Seconds that an authority may take, silence and all."""

_BLOCK = 1 << 14
_LATER = "Try again later, or name another authority; the record was not changed."


@dataclass(frozen=True, slots=True)
class Query:
    """A TimeStampReq in DER, and its nonce where it has one."""

    der: bytes
    nonce: int | None


def make_query(message: bytes, *, nonce: bool) -> Query:
    """A request to stamp the SHA-256 of `message`, with the authority's certificate in the answer.

    Args:
        message: the bytes, not empty.
        nonce: whether a random number goes with it that the answer must repeat. It serves where
            the same process waits for the answer; elsewhere somebody would have to remember it.
    """
    from rfc3161_client import TimestampRequestBuilder
    from rfc3161_client.base import HashAlgorithm

    built = TimestampRequestBuilder(
        data=message, hash_algorithm=HashAlgorithm.SHA256, nonce=nonce, cert_req=True
    ).build()
    return Query(built.as_bytes(), built.nonce)


def ask(url: str, query: Query, *, timeout: float = TIMEOUT) -> bytes:
    """Send a request and wait for the answer, which is not yet read.

    Args:
        url: the authority's address, http or https.
        query: what is asked.
        timeout: seconds for the whole of it.

    Raises:
        RefusedError: no such address, no answer in time, or not an answer of this kind.
    """
    request = Request(  # noqa: S310 - the scheme is checked, and the opener knows no other
        _checked(url),
        data=query.der,
        headers={"Content-Type": REQUEST_TYPE, "Accept": REPLY_TYPE},
        method="POST",
    )
    ends = time.monotonic() + timeout
    try:
        with _opener().open(request, timeout=timeout) as response:
            return _body(url, response, ends)
    except EvidenceError:
        raise
    except HTTPError as error:
        with error:
            raise _refused(url, _status(error)) from error
    except TimeoutError as error:
        raise _slow(url) from error
    except URLError as error:
        if isinstance(error.reason, TimeoutError):
            raise _slow(url) from error
        raise _refused(url, f"cannot be reached: {error.reason}") from error
    except (OSError, HTTPException, ValueError) as error:
        why = str(error) or type(error).__name__
        raise _refused(url, f"cannot be reached: {why}") from error


def _opener() -> OpenerDirector:
    """HTTP and HTTPS and nothing else: no files, no FTP, no following of redirections."""
    opener = OpenerDirector()
    for handler in (
        ProxyHandler(),
        HTTPHandler(),
        HTTPSHandler(),
        HTTPDefaultErrorHandler(),
        HTTPErrorProcessor(),
    ):
        opener.add_handler(handler)
    return opener


def _checked(url: str) -> str:
    try:
        parts = urlsplit(url)
        fit = parts.scheme in ("http", "https") and bool(parts.hostname)
        fit = fit and parts.username is None and (parts.port is None or parts.port > 0)
    except ValueError:
        fit = False
    if not fit or not url.isascii() or not url.isprintable() or " " in url:
        raise RefusedError(
            f"address {url[:80]!r}", "is not of the form http://… or https://…, without a password"
        )
    return url


def _body(url: str, response: "HTTPResponse | IO[bytes]", ends: float) -> bytes:
    """The answer's bytes, as many as an honest one can have, as long as there is time."""
    if not isinstance(response, HTTPResponse):
        raise _refused(url, "does not answer over HTTP")
    kind = response.headers.get_content_type()
    if kind != REPLY_TYPE:
        raise _refused(url, f"answers with {kind[:60]!r}, not with a time stamp", "Is it a TSA?")
    found = bytearray()
    while block := response.read1(_BLOCK):
        found += block
        if len(found) > MAX_BYTES:
            raise _refused(url, f"answers with more than {MAX_BYTES} bytes")
        if time.monotonic() > ends:
            raise _slow(url)
    return bytes(found)


def _status(error: HTTPError) -> str:
    moved = error.headers.get("Location") if error.headers else None
    if moved and error.code in (301, 302, 303, 307, 308):
        return f"points to {moved[:80]!r}, which was not asked"
    return f"answers with status {error.code}"


def _slow(url: str) -> RefusedError:
    return _refused(url, "did not answer in time")


def _refused(url: str, why: str, what_to_do: str = _LATER) -> RefusedError:
    return RefusedError(url[:80], why, what_to_do)
