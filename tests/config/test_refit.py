"""`manage.py refit` puts the fitted rates back into the table and touches nothing else."""

import shutil
from pathlib import Path

from django.conf import settings as project
from django.core.management import call_command

from config.management.commands.refit import TABLE


def test_a_changed_rate_is_fitted_back_and_all_else_stays(settings, tmp_path, capsys):
    packaged = Path(project.BASE_DIR) / TABLE
    copy = tmp_path / TABLE
    copy.parent.mkdir(parents=True)
    shutil.copy(packaged, copy)
    text = copy.read_text(encoding="utf-8")
    copy.write_text(text.replace("red_spruce,rate,0.", "red_spruce,rate,7."), encoding="utf-8")
    assert copy.read_text(encoding="utf-8") != text
    settings.BASE_DIR = tmp_path
    call_command("refit")
    assert copy.read_bytes() == packaged.read_bytes()
    assert "1 rows of" in capsys.readouterr().out
