"""Writing files whole: a new file appears complete or not at all."""

import errno
import os
import tempfile
from pathlib import Path

from paddlebal.errors import InputError


def data_path(*parts):
    """Path of a file or folder in the project's data folder, e.g. ("published", "x.csv")."""
    return Path(__file__).resolve().parents[1].joinpath("data", *parts)


def write_bytes(path, content, overwrite=False):
    """Write `content` beside `path` under a temporary name, then rename it into place.

    Raises InputError, leaving what was there, if the file exists and `overwrite` is false or
    if the folder cannot be written.
    """
    path = Path(path)
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
    except FileExistsError as error:
        raise InputError("already exists and was left as it is", file=path) from error
    except OSError as error:
        raise InputError(f"cannot be written ({error.strerror})", file=path) from error
    finally:
        if temporary is not None and os.path.exists(temporary):
            os.unlink(temporary)


def _name_new(temporary, path):
    """Give a file its name in one step if no file has it; FileExistsError if one has."""
    try:
        os.link(temporary, path)
    except OSError as error:
        if error.errno not in (errno.EPERM, errno.ENOTSUP, errno.ENOSYS):
            raise
        # A memory stick knows no links: take the name with an empty file, then replace that.
        path.touch(exist_ok=False)
        os.replace(temporary, path)


def write_text(path, text, overwrite=False):
    """Write `text` as UTF-8, whole or not at all; see `write_bytes`."""
    write_bytes(path, text.encode("utf-8"), overwrite)
