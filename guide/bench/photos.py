"""Photos kept beside the journal: copied whole, named by their hash, never written over."""

from __future__ import annotations

import hashlib
import os
import secrets
import stat
from pathlib import Path

from guide.errors import ChargewrightError
from guide.escape import for_file_name
from guide.job.payloads import Photo
from guide.journal.files import reason, rename_new, sync_file

LARGEST_PHOTO_BYTES = 50_000_000  # PROPOSED
_CHUNK = 1 << 20


class NoPhoto(ChargewrightError):
    """A file that can't be kept as a photo."""


def keep_photo(source: Path, folder: Path) -> Photo:
    """Copy a picture into `folder`, durable on return. The same picture twice is kept once.

    Raises:
        NoPhoto: it is no plain file, empty, larger than 50 MB, or can't be read or copied.
    """
    draft = folder / f".{secrets.token_hex(8)}"
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        # without blocking: a pipe or a device must be refused, not waited for
        number = os.open(source, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with os.fdopen(number, "rb") as file:
            if not stat.S_ISREG(os.fstat(number).st_mode):
                raise NoPhoto(f"{source}: is no plain file; give the file of a photo")
            digest, size = hashlib.sha256(), 0
            target = os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL | getattr(os, "O_BINARY", 0), 0o600)
            with os.fdopen(target, "wb") as copy:
                while chunk := file.read(_CHUNK):
                    size += len(chunk)
                    if size > LARGEST_PHOTO_BYTES:
                        raise NoPhoto(f"{source}: larger than 50 MB; make it smaller")
                    digest.update(chunk)
                    copy.write(chunk)
        if size == 0:
            raise NoPhoto(f"{source}: is empty; give the file of a photo")
        sync_file(draft)
        found = digest.hexdigest()
        photo = Photo(file=f"{found[:16]}-{for_file_name(source.name)}", sha256=found, size_bytes=size)
        if not (folder / photo.file).exists():
            rename_new(draft, folder / photo.file)
    except OSError as error:
        raise NoPhoto(f"{source}: not kept: {reason(error)}; check file and disk") from error
    except ValueError as error:
        raise NoPhoto(f"{str(source)[:60]!r}: is no path; give the file of a photo") from error
    finally:
        draft.unlink(missing_ok=True)
    return photo
