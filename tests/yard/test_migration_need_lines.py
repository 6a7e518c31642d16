"""Needs from before the lines keep what they wanted."""

from datetime import date

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from tests.effort import not_in_each_run

BEFORE, AFTER = [("yard", "0005_learning")], [("yard", "0008_needs_have_lines_alone")]


@not_in_each_run
@pytest.mark.django_db(transaction=True)
def test_each_need_gets_a_line_of_its_figures():
    executor = MigrationExecutor(connection)
    leaves = executor.loader.graph.leaf_nodes()
    try:
        old = executor.migrate(BEFORE) and executor.loader.project_state(BEFORE).apps
        wood = old.get_model("yard", "Species").objects.create(
            key="w", name="W", wood_class="hardwood", drying_group="softwood", basic_density_kg_m3=500
        )
        figures = {"thickness_mm": 24, "volume_m3": 1.5, "target_pct": 9, "wanted_by": date(2030, 1, 2)}
        old.get_model("yard", "Need").objects.create(name="Floor", species=wood, **figures)
        executor = MigrationExecutor(connection)
        new = executor.migrate(AFTER).apps
        (line,) = new.get_model("yard", "NeedLine").objects.all()
        assert (line.thickness_mm, line.quantity, line.unit, line.need.target_pct) == (24, 1.5, "m3", 9)
        assert [one.key for one in line.species.all()] == ["w"]
    finally:
        MigrationExecutor(connection).migrate(leaves)
