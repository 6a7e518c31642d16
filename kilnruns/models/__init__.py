"""Kilns, plans and charges, one file per noun."""

from kilnruns.models.charge import Charge, ChargeStack
from kilnruns.models.kiln import Closure, Kiln, Loading
from kilnruns.models.plan import LeftOut, Plan, Proposal, ProposalStack

__all__ = ["Charge", "ChargeStack", "Closure", "Kiln", "LeftOut", "Loading", "Plan", "Proposal", "ProposalStack"]
