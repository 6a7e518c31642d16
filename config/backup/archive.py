"""The file of a backup: a zip of one JSON-lines file a table, the photos, and a manifest with counts and checksums."""

import hashlib
import json
import lzma
import os
import struct
import zipfile
import zlib
from collections.abc import Iterable, Iterator
from pathlib import Path, PurePosixPath
from typing import IO, Any

from config.backup.rows import Sum

FORMAT = 1
MANIFEST = "manifest.json"
BLOCK = 1024 * 1024
KEYS = ("push-key.pem",)  # without it each device that is reminded would have to be set up anew
# What reading spoiled bytes as a zip of JSON may raise: flipped bits make it encrypted, of other kinds, of other types.
SPOILED = (
    OSError,
    zipfile.BadZipFile,
    zlib.error,
    lzma.LZMAError,
    struct.error,
    EOFError,
    LookupError,
    ValueError,
    TypeError,
    AttributeError,
    ArithmeticError,
    RuntimeError,
)


class DamagedError(Exception):
    """A backup that can't be relied on; says what is wrong with it."""


class Writer:
    """Writes beside the file and puts it in place when it is whole and on the disk."""

    def __init__(self, path: Path) -> None:
        self.path, self.part = path, path.with_suffix(f".{os.getpid()}.part")
        self.tables: dict[str, dict[str, Any]] = {}
        self.files: dict[str, dict[str, Any]] = {}

    def __enter__(self) -> "Writer":
        self._zip = zipfile.ZipFile(self.part, "w", zipfile.ZIP_DEFLATED, compresslevel=6)
        return self

    def __exit__(self, kind: type[BaseException] | None, *_error: object) -> None:
        try:
            self._zip.close()  # writes the list of its entries: on a full disk that fails as well
        except (OSError, ValueError):
            self.part.unlink(missing_ok=True)
            if kind is None:
                raise
        if kind is not None:
            self.part.unlink(missing_ok=True)
            return
        with self.part.open("rb") as whole:
            os.fsync(whole.fileno())
        self.part.replace(self.path)
        _sync_folder(self.path.parent)

    def table(self, label: str, lines: Iterable[bytes]) -> None:
        found = Sum()
        with self._zip.open(f"rows/{label}.jsonl", "w", force_zip64=True) as member:
            for line in lines:
                found.add(line)
                member.write(line)
        self.tables[label] = {"rows": found.rows, "checksum": found.checksum}

    def file(self, name: str, content: IO[bytes]) -> None:
        """A photo or key as it is: photos don't get smaller."""
        digest, size = hashlib.sha256(), 0
        entry = zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))
        with self._zip.open(entry, "w", force_zip64=True) as member:
            while block := content.read(BLOCK):
                digest.update(block)
                size += len(block)
                member.write(block)
        self.files[name] = {"bytes": size, "sha256": digest.hexdigest()}

    def manifest(self, **said: Any) -> None:
        whole = {"format": FORMAT, **said, "tables": self.tables, "files": self.files}
        self._zip.writestr(MANIFEST, json.dumps(whole, indent=1, sort_keys=True))


def _sync_folder(folder: Path) -> None:
    """So that the new name, too, outlives a power cut."""
    if os.name == "nt":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


class Archive:
    """A backup's file opened to read. Raises DamagedError where it is none."""

    def __init__(self, path: Path) -> None:
        try:
            self._zip = zipfile.ZipFile(path)
            self.manifest: dict[str, Any] = dict(json.loads(self._zip.read(MANIFEST)))
        except FileNotFoundError as error:
            raise DamagedError(f"there is no file {path}") from error
        except SPOILED as error:
            raise DamagedError(f"{path.name} is no backup, or is cut short ({error})") from error
        if self.manifest.get("format") != FORMAT:
            raise DamagedError(f"{path.name} was made by another version, in format {self.manifest.get('format')}")

    def __enter__(self) -> "Archive":
        return self

    def __exit__(self, *_error: object) -> None:
        self._zip.close()

    def lines(self, label: str) -> Iterator[bytes]:
        with self._zip.open(f"rows/{label}.jsonl") as member:
            yield from member

    def open(self, name: str) -> IO[bytes]:
        return self._zip.open(name)

    def check(self) -> None:
        """Read all of it and compare counts and checksums. Raises DamagedError at the first that differs."""
        try:
            for label, told in self.manifest["tables"].items():
                self._check_table(label, told)
            for name, told in self.manifest["files"].items():
                self._check_file(name, told)
        except SPOILED as error:
            raise DamagedError(f"it can't be read to its end ({error})") from error

    def _check_table(self, label: str, told: dict[str, Any]) -> None:
        found = Sum()
        for line in self.lines(label):
            json.loads(line)
            found.add(line)
        if (found.rows, found.checksum) != (told["rows"], told["checksum"]):
            raise DamagedError(f"{label} has {found.rows} rows instead of {told['rows']}, or other ones")

    def _check_file(self, name: str, told: dict[str, Any]) -> None:
        if not is_ours(name):
            raise DamagedError(f"{name[:80]!r} is no name that a backup gives a file")
        digest, size = hashlib.sha256(), 0
        with self.open(name) as content:
            while size <= told["bytes"] and (block := content.read(BLOCK)):
                digest.update(block)
                size += len(block)
        if digest.hexdigest() != told["sha256"]:
            raise DamagedError(f"{name} is not what was kept")


def is_ours(name: str) -> bool:
    """Whether a restore may write a file of that name: a photo below the photos' folder, or a key that is kept. A
    backup that somebody else has made must not write elsewhere."""
    folder, _slash, rest = name.partition("/")
    if folder == "keys":
        return rest in KEYS
    parts = PurePosixPath(rest).parts
    return folder == "photos" and bool(parts) and parts[0] != "/" and ".." not in parts and "\\" not in name
