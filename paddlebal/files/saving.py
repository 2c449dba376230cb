"""Files written whole: a new one appears complete or not at all."""

import errno
import os
import re
import secrets
import shutil
import time
from contextlib import suppress
from glob import escape
from itertools import count
from pathlib import Path

from paddlebal.errors import InputError


def write_bytes(path, content, overwrite=False, keep=False):
    """Write `content` beside `path` under a temporary name, then rename it into place.

    Parameters
    ----------
    path : str or Path
    content : bytes
    overwrite : bool
        Whether a file of this name may be replaced.
    keep : bool
        Whether the file that is replaced stays, under its name with .bak1, .bak2, ... added;
        the highest number is the latest.

    Returns
    -------
    Path or None
        The file that was kept.

    Raises
    ------
    InputError
        If the file exists and `overwrite` is false, or if the folder cannot be written. What
        was there is left as it was.
    """
    path, kept = Path(path), None
    try:
        if overwrite and keep and path.exists():
            kept = _keep(path)
        _write(path, content, overwrite, like=path)
    except FileExistsError as error:
        raise InputError("already exists and was left as it is", file=path) from error
    except OSError as error:
        if kept:
            kept.unlink()
        raise InputError(f"cannot be written ({error.strerror})", file=path) from error
    return kept


def _keep(path):
    """Copy a file to a name that no other has, and return that name."""
    content = path.read_bytes()
    for number in count(1):
        kept = path.with_name(f"{path.name}.bak{number}")
        with suppress(FileExistsError):
            _write(kept, content, overwrite=False, like=path)
            return kept


def _write(path, content, overwrite, like):
    """Write a file that who may read `like`, if there is one, may read."""
    _sweep(path)
    temporary = path.with_name(f".{path.name}.{secrets.token_hex(8)}")
    try:
        handle = os.open(temporary, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o666)
        with os.fdopen(handle, "wb") as stream:
            if like.exists():
                shutil.copymode(like, temporary)
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        if overwrite:
            os.replace(temporary, path)
        else:
            _name_new(temporary, path)
    finally:
        temporary.unlink(missing_ok=True)


LEFT = 60
"""Seconds after which a temporary file belongs to a writer that was killed."""


def _sweep(path):
    """Remove what killed writers of this file left beside it."""
    for left in path.parent.glob(f".{escape(path.name)}.*"):
        ending = left.name.removeprefix(f".{path.name}.")
        with suppress(OSError):
            if re.fullmatch("[0-9a-f]{16}", ending) and time.time() - left.stat().st_mtime > LEFT:
                left.unlink()


def _name_new(temporary, path):
    """Give a file its name in one step if no file has it; FileExistsError if one has."""
    try:
        os.link(temporary, path)
    except OSError as error:
        if error.errno not in (errno.EPERM, errno.ENOTSUP, errno.ENOSYS, errno.EINVAL):
            raise
        # A memory stick knows no links: take the name with an empty file, then replace that.
        path.touch(exist_ok=False)
        try:
            os.replace(temporary, path)
        except OSError:
            path.unlink()
            raise


def write_text(path, text, overwrite=False, keep=False):
    """Write `text` as UTF-8, whole or not at all; see `write_bytes`."""
    try:
        content = text.encode("utf-8")
    except UnicodeEncodeError as error:
        raise InputError("holds half a character, expected whole ones", file=path) from error
    return write_bytes(path, content, overwrite, keep)
