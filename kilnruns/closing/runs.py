"""The finished runs of a kiln, side by side."""

from collections.abc import Sequence
from dataclasses import dataclass

from kilnruns.closing.account import Came
from kilnruns.closing.quality import Quality
from kilnruns.closing.report import report
from kilnruns.closing.rows import Rows, charges, finished, powered, rows_of
from kilnruns.models import Charge, Degrade, Kiln

SHOWN = 6


@dataclass(frozen=True, slots=True)
class RunBeside:
    """A run with its account, quality (None where nothing was measured), stress verdict and worst degrade."""

    charge: Charge
    account: Came
    quality: Quality | None
    stress: str
    worst: Degrade | None

    @property
    def days_more_pct(self) -> float | None:
        return self.account.deviations[0].more_pct if self.account.deviations else None


def runs_of(kiln: Kiln) -> list[Rows]:
    """The latest finished runs of a kiln, the latest first; a fixed number of queries."""
    latest = charges().filter(finished(), kiln=kiln).order_by("-unloaded_at", "-pk")[:SHOWN]
    return powered(rows_of(charge) for charge in latest)


def beside(runs: Sequence[Rows]) -> list[RunBeside]:
    """Runs at hand, each with its figures: no query."""
    told = [report(rows) for rows in runs]
    return [
        RunBeside(
            one.rows.charge,
            one.account,
            one.whole,
            one.stress.verdict,
            max(one.degrade, key=lambda row: row.share_pct, default=None),
        )
        for one in told
        if one
    ]
