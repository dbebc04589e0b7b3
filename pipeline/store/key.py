"""The key that turns identity into pseudonyms. It lives outside the store."""

from __future__ import annotations

import hashlib
import hmac
import os
import re
import secrets
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from pathlib import Path

from pipeline.errors import UnreadableError
from pipeline.store import atomic

KEY_BYTES = 32
WRAPPED = b"wrap:"


@dataclass(frozen=True)
class Key:
    """
    A key, as the 64 hexadecimal digits of its file, and the wraps put around it since.

    The digits themselves, not the bytes they stand for, key every HMAC: the streaming reader takes text. A wrap is a
    key of its own: what the keys before it gave is put through one more HMAC, so that what was replaced before and
    what is replaced later still agree.
    """

    text: str = field(repr=False)  # a key must not turn up in a message by accident
    wraps: tuple[str, ...] = field(default=(), repr=False)

    def digest(self, domain: str, value: bytes) -> str:
        """HMAC-SHA-256 of a value within a domain, as 64 hexadecimal digits."""
        return hmac.new(self.text.encode(), domain.encode() + b":" + value, hashlib.sha256).hexdigest()

    @property
    def check(self) -> str:
        """Value kept in the store to tell the right key from a wrong one; it gives the key away to nobody."""
        return self.wrapped(self.digest("key check", b"mendstat")[:32])

    @property
    def id(self) -> str:
        """Short name of the key, to say which one a file was received with."""
        return self.wrapped(self.digest("key id", b"mendstat")[:8])

    @property
    def earlier(self) -> Iterator[Key]:
        """What the key was after each of its wraps, newest first, and before the first."""
        for count in range(len(self.wraps), -1, -1):
            yield replace(self, wraps=self.wraps[:count])

    def wrapped(self, value: str) -> str:
        """A keyed hash in hexadecimal digits, put through every wrap; it keeps its length."""
        for wrap in self.wraps:
            value = wrapped(value, wrap)
        return value


def wrapped(value: str, wrap: str) -> str:
    """A keyed hash in hexadecimal digits put through one wrap; it keeps its length."""
    return hmac.new(wrap.encode(), WRAPPED + value.encode(), hashlib.sha256).hexdigest()[: len(value)]


def new_wrap() -> str:
    """Make a new wrap."""
    return secrets.token_hex(KEY_BYTES)


def default_path() -> Path:
    """Where the key is kept unless `--key` says otherwise: the user's configuration folder."""
    base = os.environ.get("XDG_CONFIG_HOME") or ""
    # The XDG rule: a relative value is to be ignored.
    folder = Path(base) if Path(base).is_absolute() else Path.home() / ".config"
    return folder / "mendstat" / "key"


def read(path: Path) -> Key:
    """
    Read a key file.

    Raises
    ------
    UnreadableError
        If it cannot be read or does not hold a key.
    """
    try:
        text = path.read_text(encoding="ascii").strip()
    except (OSError, UnicodeDecodeError):
        raise UnreadableError(f"The key file {path} could not be read. Put it back from a back-up.") from None
    lines = text.lower().split("\n")
    if not all(re.fullmatch(rf"[0-9a-f]{{{2 * KEY_BYTES}}}", line.strip()) for line in lines):
        raise UnreadableError(
            f"The key file {path} does not hold a key ({2 * KEY_BYTES} hexadecimal digits, and as many a line for each "
            "time it was rotated). Put it back from a back-up, or name another file with --key."
        )
    first, *wraps = (line.strip() for line in lines)
    return Key(first, tuple(wraps))


def extend(path: Path, wrap: str) -> Key:
    """
    Put one more wrap around the key in a file; the file is there whole, with or without it.

    Other stores made with the same key go on: they are known by the part of the file they were made with.
    """
    key = read(path)
    longer = replace(key, wraps=(*key.wraps, wrap))
    temporary = atomic.temporary_name(path)
    handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write("\n".join((longer.text, *longer.wraps)) + "\n")
    atomic.put_in_place(temporary, path)
    return longer


def make(path: Path) -> Key:
    """Make a new key file that only its owner can read. An existing file is never overwritten."""
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    key = Key(secrets.token_hex(KEY_BYTES))
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except OSError as error:
        raise UnreadableError(
            f"The key file {path} could not be made ({error.strerror}). Name another file with --key."
        ) from None
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(key.text + "\n")
        file.flush()
        os.fsync(file.fileno())
    return key


def key_for(key_check: str, path: Path) -> Key:
    """
    Key for a load into a store.

    Parameters
    ----------
    key_check : str
        Check value the store holds; empty while nothing was ever received.
    path : Path
        The key file.

    Returns
    -------
    Key
        The key of the file, with the wraps this store was made with; a new one only for an empty store and where no
        file exists.

    Raises
    ------
    UnreadableError
        If the key is missing, malformed, or not the one of this store.
    """
    if not path.exists():
        if not key_check:
            return make(path)
        raise UnreadableError(
            f"The key of this store is missing: {path} does not exist. Figures can still be read; "
            "to load, put the key file back from a back-up or name it with --key."
        )
    key = read(path)
    if not key_check:
        return key
    for earlier in key.earlier:
        if hmac.compare_digest(earlier.check.encode(), key_check.encode()):
            return earlier
    raise UnreadableError(
        f"{path} is not the key this store was made with. Figures can still be read; "
        "to load, name the right key file with --key."
    )
