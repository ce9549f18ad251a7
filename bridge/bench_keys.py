"""What lets a group ask from its own page: a key for each bench, made from a secret that is kept."""

from __future__ import annotations

import base64
import contextlib
import hmac
import logging
import os
import secrets
from pathlib import Path

SECRET_FILE = "bench-codes.secret"  # noqa: S105  # in the data folder
SECRET_BYTES = 32
KEY_BYTES = 16  # 128 bits: nobody guesses one, however fast

_log = logging.getLogger(__name__)


class BenchKeys:
    """Makes and compares the keys. The passcode plays no part in them, and tells nothing about them."""

    def __init__(self, secret: bytes) -> None:
        if len(secret) < SECRET_BYTES:
            raise ValueError(f"the secret must have {SECRET_BYTES} bytes or more, found {len(secret)}")
        self._secret = secret

    def key(self, bench: int) -> str:
        """The bench's key: 22 characters that may stand in an address."""
        made = hmac.digest(self._secret, f"bench {bench}".encode(), "sha256")
        return base64.urlsafe_b64encode(made[:KEY_BYTES]).rstrip(b"=").decode("ascii")

    def is_right(self, bench: int, shown: str) -> bool:
        """Compare what was shown, in a time that tells nothing about the key."""
        return hmac.compare_digest(shown.encode("utf-8", "replace"), self.key(bench).encode())


def new_secret() -> bytes:
    """A secret of its own: for a session that keeps none."""
    return secrets.token_bytes(SECRET_BYTES)


def kept_secret(data_dir: Path) -> bytes:
    """The secret of the data folder, made when there is none: printed codes stay good from lesson to lesson.

    Only the user may read the file, where the system can say so. A file that is damaged, or a folder that
    can't be written, costs no session: then a new secret is used, and codes printed before are no good.
    """
    path = data_dir / SECRET_FILE
    try:
        try:
            return _read(path)
        except FileNotFoundError:
            return _kept(path, new_secret(), instead=False)
        except ValueError:
            _log.warning("%s is damaged; bench codes that were printed before are no good now", path)
            return _kept(path, new_secret(), instead=True)
    except (OSError, ValueError) as error:
        _log.warning("%s can't be used (%s); bench codes are good for this session only", path, error)
        return new_secret()


def _read(path: Path) -> bytes:
    secret = bytes.fromhex(path.read_text("ascii"))
    if len(secret) != SECRET_BYTES:
        raise ValueError("not the whole secret")
    return secret


def _kept(path: Path, secret: bytes, *, instead: bool) -> bytes:
    """Put the secret there, whole or not at all; another session that began at once may have been first."""
    path.parent.mkdir(parents=True, exist_ok=True)
    draft = path.with_name(f"{path.name}.{secrets.token_hex(4)}.draft")
    try:
        with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
            file.write(secret.hex())
        if instead:
            draft.replace(path)
        else:
            with contextlib.suppress(FileExistsError):
                _named(draft, path)
    finally:
        draft.unlink(missing_ok=True)
    return _read(path)


def _named(draft: Path, path: Path) -> None:
    """Give it its name, unless there is a file of that name: a rename would take that one's place."""
    try:
        path.hardlink_to(draft)
    except FileExistsError:
        raise
    except OSError:  # a disk without links, as a memory stick
        draft.replace(path)
