"""Static files are named by their content, and everything that names one follows."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.contrib.staticfiles.storage import staticfiles_storage
from django.test import Client
from django.urls import reverse

from config import shell
from tests.pwa.collected import HASHED, collected_into, imports


@pytest.fixture(scope="module")
def collected(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    with collected_into(tmp_path_factory.mktemp("static")) as folder:
        yield folder


def own_modules(folder: Path) -> list[Path]:
    return [path for path in (folder / "js").rglob("*.js") if HASHED.search(path.name)]


def test_each_import_names_a_file_that_is_there_by_its_content(collected: Path) -> None:
    modules = own_modules(collected)
    found = [(path, target) for path in modules for target in imports(path)]
    assert modules and found
    for path, target in found:
        assert target.startswith("./") or target.startswith("../"), f"{path.name}: only relative imports are followed"
        assert HASHED.search(target), f"{path.name} imports {target} by its plain name"
        assert (path.parent / target).resolve().is_file(), f"{path.name}: {target} is missing"


def test_scripts_of_others_are_left_as_they_came(collected: Path) -> None:
    plain = Path(str(finders.find("django_htmx/htmx-2.min.js"))).read_bytes()
    hashed = list((collected / "django_htmx").glob("htmx-2.min.*.js"))
    assert [path.read_bytes() for path in hashed] == [plain]


def test_what_the_worker_keeps_goes_by_names_that_never_go_stale(collected: Path) -> None:
    for name in shell.names():
        url = staticfiles_storage.url(name)
        assert HASHED.search(url), name
        assert (collected / url.removeprefix("/static/")).is_file()


def test_the_sheet_comes_compressed_too(collected: Path) -> None:
    sheets = [path for path in (collected / "css").glob("drystack.*.css") if HASHED.search(path.name)]
    assert sheets and all(path.with_name(path.name + ".gz").is_file() for path in sheets)


@pytest.mark.django_db
def test_the_worker_is_served_where_files_go_by_hashed_names(collected: Path, client: Client) -> None:
    answer = client.get(reverse("service-worker"))
    assert answer.status_code == 200
    script = answer.content.decode()
    assert '"static": "/static/"' in script
    [outbox] = re.findall(r'^import .* from "/static/(.*)";$', script, flags=re.MULTILINE)
    assert HASHED.search(outbox) and (collected / outbox).is_file()
