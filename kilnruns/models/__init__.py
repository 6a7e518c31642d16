"""Kilns, plans and charges, one file per noun."""

from kilnruns.models.charge import Charge, ChargeStack
from kilnruns.models.fixing import Fixing, FixingKind
from kilnruns.models.kiln import Closure, Kiln, Loading
from kilnruns.models.load import LOAD_FIELDS, Load
from kilnruns.models.plan import LeftOut, Plan, Proposal, ProposalStack
from kilnruns.models.planning import Planning

__all__ = [
    "LOAD_FIELDS",
    "Charge",
    "ChargeStack",
    "Closure",
    "Fixing",
    "FixingKind",
    "Kiln",
    "LeftOut",
    "Load",
    "Loading",
    "Plan",
    "Planning",
    "Proposal",
    "ProposalStack",
]
