"""Text files read as UTF-8; files written whole: a new one appears complete or not at all."""

import errno
import os
import tempfile
from contextlib import suppress
from itertools import count
from pathlib import Path

from paddlebal.errors import InputError


def data_path(*parts):
    """Path of a file or folder in the project's data folder, e.g. ("published", "x.csv")."""
    return Path(__file__).resolve().parents[1].joinpath("data", *parts)


def read_text(path, expected):
    """The text of a file that should be `expected`, such as "a CSV file"; see `decode`."""
    try:
        content = Path(path).read_bytes()
    except (OSError, ValueError) as error:  # ValueError: a name that no file can have
        problem = f"cannot be read ({getattr(error, 'strerror', error)})"
        raise InputError(problem, file=path) from error
    return decode(content, expected, path)


def decode(content, expected, file=None):
    """The text in a file's bytes, without byte order mark, its lines ended by line feeds.

    Raises InputError if it is not UTF-8, or if it ends with a number and no line break: what
    was cut short within its last number reads like a whole file with another number.
    """
    try:
        text = content.decode("utf-8-sig")
        bad = content.find(b"\0")  # UTF-16 without its mark can pass for UTF-8
    except UnicodeDecodeError as error:
        bad = error.start
    if bad >= 0:
        row = content.count(b"\n", 0, bad) + 1
        raise InputError(f"is not UTF-8 text, expected {expected}", file=file, row=row)
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    if text.endswith(tuple("0123456789.")):
        problem = "ends with a number and no line break, expected one (was the file cut short?)"
        raise InputError(problem, file=file, row=text.count("\n") + 1)
    return text


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
        _write(path, content, overwrite)
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
            _write(kept, content, overwrite=False)
            return kept


def _write(path, content, overwrite):
    temporary = None
    try:
        handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
        with os.fdopen(handle, "wb") as stream:
            stream.write(content)
            stream.flush()
            os.fsync(stream.fileno())
        os.chmod(temporary, 0o644)
        if overwrite:
            os.replace(temporary, path)
        else:
            _name_new(temporary, path)
    finally:
        if temporary is not None and os.path.exists(temporary):
            os.unlink(temporary)


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


def write_text(path, text, overwrite=False):
    """Write `text` as UTF-8, whole or not at all; see `write_bytes`."""
    write_bytes(path, text.encode("utf-8"), overwrite)
