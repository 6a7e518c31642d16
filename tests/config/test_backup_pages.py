"""The owners' page of backups: seen by them alone, one now, one taken away, a warning where none is good."""

import os
from datetime import UTC, datetime, timedelta

import pytest
from django.test import Client
from django.utils import timezone

from config.backup import keeping
from config.backup.archive import Archive
from config.backup.making import make_backup
from config.backup.upgrading import NoBackupError, back_up_before
from tests.factories import StackFactory, UserFactory
from yard.models import Photo

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 6, 1, 12, tzinfo=UTC)


@pytest.fixture
def owner():
    client = Client()
    person = UserFactory(username="Ada", is_staff=True)
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.fixture
def kept(owner):
    return keeping.back_up(at=timezone.now())


def words(answer):
    return answer.content.decode().replace("\u202f", " ").replace("\xa0", " ")


def test_who_is_no_owner_sees_and_takes_none(kept):
    client = Client()
    client.force_login(UserFactory(), backend="django.contrib.auth.backends.ModelBackend")
    for address in ("/backups/", f"/backups/{kept.name}"):
        assert client.get(address).status_code == 403
    assert client.post("/backups/").status_code == 403
    assert client.post(f"/backups/{kept.name}/check/").status_code == 403
    assert "backup" not in words(client.get("/")).lower()


def test_a_tap_makes_one_and_it_is_read_to_its_end(owner):
    assert "read to its end" not in words(owner.get("/backups/"))
    assert owner.post("/backups/").url == "/backups/"
    [one] = keeping.backups()
    assert one.is_good
    assert one.rows >= 1
    assert "read to its end" in words(owner.get("/backups/"))


def test_the_file_is_taken_away_whole(owner, kept):
    answer = owner.get(f"/backups/{kept.name}")
    assert b"".join(answer.streaming_content) == kept.path.read_bytes()
    assert answer["Content-Disposition"] == f'attachment; filename="{kept.name}"'
    assert kept.path.stat().st_mode & 0o077 == 0, "nobody else on the machine may read it"


@pytest.mark.parametrize("name", ["drystack-20200101T000000Z.zip", "..%2fsecret-key", "making.lock", "x.zip"])
def test_no_other_file_is_given(owner, kept, name):
    (kept.path.parent / "x.zip").write_bytes(b"not ours")
    (kept.path.parent / "making.lock").write_bytes(b"")
    assert owner.get(f"/backups/{name}").status_code == 404
    assert owner.post(f"/backups/{name}/check/").status_code == 404


def test_one_that_went_bad_is_told_on_the_page_and_on_today(owner, kept):
    assert "can't be relied on" not in words(owner.get("/"))
    kept.path.write_bytes(kept.path.read_bytes()[:-40])
    assert owner.post(f"/backups/{kept.name}/check/").url == "/backups/"
    page = words(owner.get("/backups/"))
    assert "is no backup, or is cut short" in page
    assert "The last backup can&#x27;t be relied on" in page or "The last backup can't be relied on" in page
    assert "The last backup can't be relied on" in words(owner.get("/"))


def test_none_for_two_days_is_told(owner):
    keeping.back_up(at=timezone.now() - timedelta(hours=51))
    assert "No backup for two days" in words(owner.get("/"))


def test_one_is_made_a_day_and_the_newest_read_again(settings, owner):
    keeping.daily(at=NOW)
    keeping.daily(at=NOW + timedelta(hours=23))
    [first] = keeping.backups()
    os.utime(first.path)
    first.path.write_bytes(b"decayed")
    keeping.daily(at=NOW + timedelta(hours=23, minutes=59))
    assert keeping.backups()[0].is_good, "not looked at again on the same day"
    keeping.daily(at=NOW + timedelta(hours=24))
    second, old = keeping.backups()
    assert second.made_at - old.made_at == timedelta(hours=24)
    second.path.write_bytes(b"decayed")
    keeping.check(second.path, at=NOW + timedelta(hours=25))
    assert keeping.warning(NOW + timedelta(hours=25)) == "unreadable"
    settings.BACKUP_DAILY = False
    keeping.daily(at=NOW + timedelta(days=9))
    assert len(keeping.backups()) == 2


def test_another_process_at_it_is_left_alone_unless_it_was_killed_long_ago(settings, owner):
    settings.BACKUPS.mkdir()
    lock = settings.BACKUPS / keeping.LOCK
    lock.touch()
    keeping.back_up_alone(at=timezone.now())
    assert keeping.backups() == []
    assert keeping.is_being_made()
    keeping.back_up_alone(at=timezone.now() + timedelta(hours=7))
    assert len(keeping.backups()) == 1
    assert not lock.exists()


def test_of_a_year_of_days_the_latest_days_weeks_and_months_stay(settings):
    made = [NOW - timedelta(days=day) for day in range(400)]
    good = [keeping.Kept(keeping.new_path(at), at, 1, at, "", 1, 0) for at in made]
    days = [(NOW - one.made_at).days for one in keeping.kept_by_rule(good)]
    assert set(range(7)) <= set(days)
    assert sorted(days)[:9] == [0, 1, 2, 3, 4, 5, 6, 8, 15], "NOW is a Monday: the Sundays before it"
    assert len(days) == len(set(days)) <= 7 + 5 + 12
    assert max(days) == 305, "the last of July, the twelfth month back"
    assert keeping.kept_by_rule([]) == []


def test_those_before_the_latest_upgrades_stay_besides(settings):
    made = [NOW - timedelta(days=90 + number // 2, hours=number % 2) for number in range(20)]
    paths = [keeping.path_before_upgrade(at) if at.hour == 11 else keeping.new_path(at) for at in made]
    good = [keeping.Kept(path, at, 1, at, "", 1, 0) for path, at in zip(paths, made, strict=True)]
    stay = keeping.kept_by_rule(good)
    before = [one for one in stay if one.is_before_upgrade]
    assert [one.made_at for one in before] == sorted((at for at in made if at.hour == 11), reverse=True)[:5]
    assert len([one for one in stay if not one.is_before_upgrade]) >= 7


def test_what_can_t_be_read_is_never_taken_for_the_last_good_one(settings, owner):
    for day in range(9):
        keeping.back_up(at=NOW + timedelta(days=day))
    names = [one.name for one in keeping.backups()]
    spoiled = keeping.backups()[0]
    spoiled.path.write_bytes(b"")
    keeping.check(spoiled.path, at=NOW + timedelta(days=9))
    keeping.tidy(at=NOW + timedelta(days=9))
    assert names[1] in [one.name for one in keeping.backups()]
    with Archive(keeping.backups()[1].path) as archive:
        archive.check()


def test_a_photo_that_is_gone_is_told(settings, owner):
    Photo.objects.create(stack=StackFactory(), image="stacks/lost.jpg")
    kept = keeping.back_up(at=timezone.now())
    assert "not on the disk when it was made: 1" in kept.fault
    assert not kept.is_good


@pytest.mark.parametrize("lost", [0, 2])
def test_before_an_upgrade_it_is_read_once_and_lost_photos_are_no_damage(owner, monkeypatch, lost):
    reads, read = [], Archive.check
    monkeypatch.setattr(Archive, "check", lambda self: (reads.append(1), read(self))[1])
    for number in range(lost):
        Photo.objects.create(stack=StackFactory(), image=f"stacks/lost-{number}.jpg")
    path = back_up_before(at=NOW)
    [one] = keeping.backups()
    assert (one.path, len(reads)) == (path, 1)
    assert one.fault == (f"photos not on the disk when it was made: {lost}" if lost else "")


def test_one_before_an_upgrade_that_is_damaged_is_not_kept(settings, owner, monkeypatch):
    def cut_short(path, *args):
        make_backup(path, *args)
        path.write_bytes(path.read_bytes()[:-40])

    monkeypatch.setattr("config.backup.upgrading.make_backup", cut_short)
    with pytest.raises(NoBackupError, match=r"can't be relied on: .* is cut short"):
        back_up_before(at=NOW)
    assert list(settings.BACKUPS.iterdir()) == []
