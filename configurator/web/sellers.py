"""Sellers who may sign in, with their passwords kept as scrypt hashes.

A seat that has signed in keeps a signed name in a cookie. The key is in the sellers' file, so that
a server that starts again knows its sellers; a changed password ends what was signed before.
"""

from __future__ import annotations

import base64
import binascii
import hashlib
import hmac
import json
import os
import re
import secrets
import time
import unicodedata
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from attrs import evolve, field, frozen

from configurator.errors import ConfiguratorError, FileError

_COST = {"n": 2**15, "r": 8, "p": 1, "maxmem": 64 * 2**20}
_SHORTEST, _LONGEST, _LONGEST_NAME = 10, 200, 120
_HOURS = 12
"""How long a seat stays signed in."""


def _hashed(password: str, salt: bytes) -> bytes:
    text = unicodedata.normalize("NFC", password)[:_LONGEST].encode()
    return hashlib.scrypt(text, salt=salt, dklen=32, **_COST)


@frozen
class Sellers:
    """The sellers of a shop.

    Attributes:
        passwords: by name, each as salt and scrypt, in hex.
        key: signs who has signed in.
    """

    passwords: Mapping[str, str] = field(factory=dict, repr=False)
    key: str = field(factory=lambda: secrets.token_hex(32), repr=False)

    def with_seller(self, name: str, password: str) -> Sellers:
        """With a seller, or with another password of a known one.

        Raises:
            ConfiguratorError: the name or the password cannot be used.
        """
        if not name.strip() or len(name) > _LONGEST_NAME or not name.isprintable():
            raise ConfiguratorError("a seller's name is one line of at most 120 letters")
        if not _SHORTEST <= len(password) <= _LONGEST:
            raise ConfiguratorError(f"a password has {_SHORTEST} to {_LONGEST} letters")
        salt = secrets.token_bytes(16)
        kept = f"{salt.hex()}:{_hashed(password, salt).hex()}"
        return evolve(self, passwords={**self.passwords, name.strip(): kept})

    def without(self, name: str) -> Sellers:
        """Without a seller.

        Raises:
            ConfiguratorError: there is none of that name.
        """
        if name not in self.passwords:
            raise ConfiguratorError(f"there is no seller {name!r}")
        left = {one: kept for one, kept in self.passwords.items() if one != name}
        return evolve(self, passwords=left)

    def knows(self, name: str, password: str) -> bool:
        """Whether the password is the seller's; it takes as long for a name that is unknown."""
        kept = self.passwords.get(name, "00:00")
        salt, _, known = kept.partition(":")
        found = _hashed(password, bytes.fromhex(salt))
        return hmac.compare_digest(found, bytes.fromhex(known)) and name in self.passwords

    def signed(self, name: str, now: float | None = None) -> str:
        """What the browser of a seller keeps."""
        until = int((time.time() if now is None else now) + _HOURS * 3600)
        told = base64.urlsafe_b64encode(name.encode()).decode()
        return f"{told}.{until}.{self._signature(name, until)}"

    def seller(self, cookie: str, now: float | None = None) -> str:
        """Who has signed in; empty where nobody has, or too long ago."""
        told, _, rest = cookie.partition(".")
        until, _, signature = rest.partition(".")
        if not re.fullmatch("[0-9]{1,12}", until):
            return ""
        try:
            name = base64.urlsafe_b64decode(told).decode()
        except (ValueError, binascii.Error):
            return ""
        known = name in self.passwords and int(until) > (time.time() if now is None else now)
        right = hmac.compare_digest(signature.encode(), self._signature(name, int(until)).encode())
        return name if known and right else ""

    def _signature(self, name: str, until: int) -> str:
        told = f"{until}:{self.passwords.get(name, '')}:{name}".encode()
        return hmac.new(bytes.fromhex(self.key), told, "sha256").hexdigest()


def usual_file() -> Path:
    """Where the sellers are kept."""
    from platformdirs import user_data_path

    return user_data_path("configurator", appauthor=False) / "sellers.json"


def read_sellers(path: Path) -> Sellers:
    """The sellers of a file; none where there is no file.

    Raises:
        FileError: it cannot be read, or is something else.
    """
    try:
        data: Any = json.loads(path.read_text("utf-8"))
        passwords = {str(name): str(kept) for name, kept in data["sellers"].items()}
        if not all(re.fullmatch("[0-9a-f]{32}:[0-9a-f]{64}", kept) for kept in passwords.values()):
            raise ValueError(path)
        bytes.fromhex(data["key"])
        return Sellers(passwords, data["key"])
    except FileNotFoundError:
        return Sellers()
    except OSError as error:
        raise FileError(f"{path}: {error.strerror}") from None
    except (ValueError, KeyError, TypeError, AttributeError):
        raise FileError(
            f"{path}: it is no file of sellers; delete it and name them again"
        ) from None


def write_sellers(path: Path, sellers: Sellers) -> None:
    """Write the sellers so that nobody else of this machine can read them.

    Raises:
        FileError: they cannot be written.
    """
    text = json.dumps({"key": sellers.key, "sellers": dict(sellers.passwords)}, indent=1)
    part = path.with_name(f"{path.name}.part-{os.getpid()}")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w") as to:
            to.write(text + "\n")
        part.replace(path)
    except OSError as error:
        raise FileError(f"{path}: {error.strerror}") from None
