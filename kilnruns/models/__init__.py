"""Kilns, plans and charges, one file per noun."""

from kilnruns.models.charge import Charge, ChargeStack
from kilnruns.models.closing import Defect, Degrade, FinalMeasurement, KilnLesson, RunCosts, StressTest
from kilnruns.models.fixing import Fixing, FixingKind
from kilnruns.models.group import GroupMember, OwnGroup
from kilnruns.models.kiln import Closure, Kiln, Loading
from kilnruns.models.load import LOAD_FIELDS, Load
from kilnruns.models.paper import Paper, PaperKind, PaperLink, PaperSeries
from kilnruns.models.plan import LeftOut, Plan, Proposal, ProposalStack
from kilnruns.models.planning import Planning
from kilnruns.models.reckoning import Reckoning
from kilnruns.models.reminding import CalendarEntry, PushDevice, Reminders
from kilnruns.models.rules import DayOff, PlanningRules
from kilnruns.models.run import Fans, Phase, RunRecord
from kilnruns.models.schedule import KilnSchedule, ScheduleChange
from kilnruns.models.sensor import Quantity, SensorDevice, SensorMean, SensorReading, SensorSeries

__all__ = [
    "LOAD_FIELDS",
    "CalendarEntry",
    "Charge",
    "ChargeStack",
    "Closure",
    "DayOff",
    "Defect",
    "Degrade",
    "Fans",
    "FinalMeasurement",
    "Fixing",
    "FixingKind",
    "GroupMember",
    "Kiln",
    "KilnLesson",
    "KilnSchedule",
    "LeftOut",
    "Load",
    "Loading",
    "OwnGroup",
    "Paper",
    "PaperKind",
    "PaperLink",
    "PaperSeries",
    "Phase",
    "Plan",
    "Planning",
    "PlanningRules",
    "Proposal",
    "ProposalStack",
    "PushDevice",
    "Quantity",
    "Reckoning",
    "Reminders",
    "RunCosts",
    "RunRecord",
    "ScheduleChange",
    "SensorDevice",
    "SensorMean",
    "SensorReading",
    "SensorSeries",
    "StressTest",
]
