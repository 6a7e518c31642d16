"""The folder of backups: what is there, a new one each day, which old ones go, and whether they can be read."""

import json
import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from django.conf import settings
from django.utils import timezone

from config.backup.archive import Archive, DamagedError
from config.backup.making import make_backup, summary

PATTERN = "drystack-*.zip"
STAMP = "%Y%m%dT%H%M%SZ"
BEFORE = "-before-upgrade"  # ends the name of one that was made before the tables were changed
UPGRADES = 5  # so many of those stay besides
DAYS, WEEKS, MONTHS = 7, 5, 12  # of each of so many days, weeks and months the last one stays: our own choice
EVERY = timedelta(hours=24)
OLD = timedelta(hours=50)  # two days missed: somebody should look
LOCK = "making.lock"
LOST_AFTER = timedelta(hours=6)  # a lock older than that is of a process that was killed


@dataclass(frozen=True, slots=True)
class Kept:
    """A backup in the folder, read to its end at `checked_at`. `fault` says what is wrong, empty for nothing."""

    path: Path
    made_at: datetime
    size: int
    checked_at: datetime | None
    fault: str
    rows: int
    photos: int

    @property
    def name(self) -> str:
        return self.path.name

    @property
    def is_before_upgrade(self) -> bool:
        return self.path.stem.endswith(BEFORE)

    @property
    def is_good(self) -> bool:
        return self.checked_at is not None and not self.fault


def backups() -> list[Kept]:
    """What is in the folder, the newest first."""
    found = [_kept(path) for path in settings.BACKUPS.glob(PATTERN)]
    return sorted((one for one in found if one), key=lambda one: one.made_at, reverse=True)


def backup(name: str) -> Kept | None:
    """The one of that file name, in this folder alone."""
    return next((one for one in backups() if one.name == name), None)


def new_path(at: datetime) -> Path:
    folder: Path = settings.BACKUPS
    return folder / f"drystack-{at.astimezone(UTC):{STAMP}}.zip"


def path_before_upgrade(at: datetime) -> Path:
    path = new_path(at)
    return path.with_stem(path.stem + BEFORE)


def back_up(*, at: datetime) -> Kept:
    """Make one now, read it to its end, and let old ones go. Raises OSError where the folder can't be written to."""
    settings.BACKUPS.mkdir(parents=True, exist_ok=True, mode=0o700)
    path = new_path(at)
    make_backup(path)
    path.chmod(0o600)
    check(path, at=at)
    tidy(at=at)
    kept = _kept(path)
    assert kept is not None
    return kept


@dataclass(frozen=True, slots=True)
class Found:
    """What reading a backup to its end found: the `damage` for which it can't be relied on, empty for none; `missing`
    photos that were not on the disk when it was made, without which it is as whole as the yard was."""

    damage: str = ""
    missing: int = 0

    @property
    def fault(self) -> str:
        return self.damage or (f"photos not on the disk when it was made: {self.missing}" if self.missing else "")


def check(path: Path, *, at: datetime) -> Found:
    """Read a backup to its end and note beside it what was found."""
    found, rows, photos = Found(), 0, 0
    try:
        with Archive(path) as archive:
            archive.check()
            rows, photos = summary(archive.manifest)
            found = Found(missing=len(archive.manifest["missing_photos"]))
    except DamagedError as error:
        found = Found(damage=str(error))
    said = {"checked_at": at.isoformat(), "fault": found.fault, "rows": rows, "photos": photos}
    note = path.with_suffix(".json")
    note.write_text(json.dumps(said))
    return found


def back_up_alone(*, at: datetime) -> None:
    """One now, unless another process on the same folder is at it."""
    with _alone(at) as alone:
        if alone:
            back_up(at=at)


def is_being_made() -> bool:
    folder: Path = settings.BACKUPS
    return (folder / LOCK).exists()


def daily(*, at: datetime) -> None:
    """One a day, by whichever worker comes first; the newest is read again on each day, since disks decay."""
    if not settings.BACKUP_DAILY:
        return
    with _alone(at) as alone:
        newest = next(iter(backups()), None)
        if alone and (newest is None or at - newest.made_at >= EVERY):
            back_up(at=at)
        elif alone and newest and (newest.checked_at is None or at - newest.checked_at >= EVERY):
            check(newest.path, at=at)


@contextmanager
def _alone(at: datetime) -> Iterator[bool]:
    """Whether this process may make one: another on the same folder is not at it."""
    settings.BACKUPS.mkdir(parents=True, exist_ok=True, mode=0o700)
    lock: Path = settings.BACKUPS / LOCK
    with suppress(FileNotFoundError):
        if at.timestamp() - lock.stat().st_mtime > LOST_AFTER.total_seconds():
            lock.unlink()
    try:
        os.close(os.open(lock, os.O_CREAT | os.O_EXCL))
    except FileExistsError:
        yield False
        return
    try:
        yield True
    finally:
        lock.unlink(missing_ok=True)


def tidy(*, at: datetime) -> None:
    """Let go of what the rule does not keep, and of what a killed process left half-written."""
    good = [one for one in backups() if one.is_good]
    stay = {one.name for one in kept_by_rule(good)}
    for one in good:
        if one.name not in stay:
            one.path.with_suffix(".json").unlink(missing_ok=True)
            one.path.unlink(missing_ok=True)
    for part in settings.BACKUPS.glob("*.part"):
        with suppress(FileNotFoundError):
            if at.timestamp() - part.stat().st_mtime > LOST_AFTER.total_seconds():
                part.unlink()


def kept_by_rule(good: list[Kept]) -> list[Kept]:
    """The last of each of the latest days, weeks and months in which there is one, and those made before the latest
    upgrades. What can't be read never counts."""
    newest = sorted(good, key=lambda one: one.made_at, reverse=True)
    stay = {one.name: one for one in [one for one in newest if one.is_before_upgrade][:UPGRADES]}
    for most, period in ((DAYS, "%Y-%m-%d"), (WEEKS, "%G-%V"), (MONTHS, "%Y-%m")):
        last: dict[str, Kept] = {}
        for one in newest:
            last.setdefault(timezone.localtime(one.made_at).strftime(period), one)
        stay |= {one.name: one for one in list(last.values())[:most]}
    return list(stay.values())


def warning(at: datetime, found: list[Kept] | None = None) -> str:
    """What an owner must know: "none", "unreadable" or "old"; empty where all is well or none is to be made daily.

    "none" is said from the second day on only: the first backup comes by itself.
    """
    found = backups() if found is None else found
    if not found:
        return "none" if settings.BACKUP_DAILY and _began(at) else ""
    if found[0].fault:
        return "unreadable"
    return "old" if settings.BACKUP_DAILY and at - found[0].made_at > OLD else ""


def _began(at: datetime) -> bool:
    """Whether the yard is older than a day, by its oldest file."""
    key: Path = settings.DATA_DIR / "secret-key"
    return key.exists() and at.timestamp() - key.stat().st_mtime > EVERY.total_seconds()


def is_on_same_disk() -> bool:
    """Backups on the disk of the data go with it."""
    folder: Path = settings.BACKUPS
    return folder.exists() and folder.stat().st_dev == settings.DATA_DIR.stat().st_dev


def _kept(path: Path) -> Kept | None:
    """None for a file of another's naming, or one that went meanwhile."""
    try:
        made_at = datetime.strptime(path.stem.removeprefix("drystack-").removesuffix(BEFORE), STAMP).replace(tzinfo=UTC)
        size = path.stat().st_size
    except (ValueError, FileNotFoundError):
        return None
    said = _note(path)
    checked = said.get("checked_at")
    at = datetime.fromisoformat(checked) if checked else None
    return Kept(path, made_at, size, at, said.get("fault", ""), said.get("rows", 0), said.get("photos", 0))


def _note(path: Path) -> dict[str, Any]:
    try:
        said: dict[str, Any] = json.loads(path.with_suffix(".json").read_text())
    except (FileNotFoundError, ValueError):
        return {}
    return said
