"""The yard's rows, one file per noun."""

from yard.models.board import Board, SampleBoard
from yard.models.change import Change, ChangeAbout
from yard.models.figures import FIGURES, MillFigures, Sawn
from yard.models.learning import LearningChange
from yard.models.mill import Mill
from yard.models.money import CostRates, Price
from yard.models.need import Importance, Need, NeedLine, Purpose, Reservation, Unit
from yard.models.outlook import Outlook
from yard.models.person import Invitation, Person, Role, UnitSystem
from yard.models.photo import Photo
from yard.models.place import Place, PlaceKind
from yard.models.reading import Method, Reading
from yard.models.receipt import Receipt, Why
from yard.models.sentsheet import SentSheet
from yard.models.signin import SignIn
from yard.models.species import DryingGroup, Species, WoodClass
from yard.models.stack import WASTED, Event, LeftAs, Stack, Stay, TallyLine, WoodPart, log
from yard.models.tag import Tag
from yard.models.tries import Tries
from yard.models.weather import DailyWeather, FormerKind

__all__ = [
    "FIGURES",
    "WASTED",
    "Board",
    "Change",
    "ChangeAbout",
    "CostRates",
    "DailyWeather",
    "DryingGroup",
    "Event",
    "FormerKind",
    "Importance",
    "Invitation",
    "LearningChange",
    "LeftAs",
    "Method",
    "Mill",
    "MillFigures",
    "Need",
    "NeedLine",
    "Outlook",
    "Person",
    "Photo",
    "Place",
    "PlaceKind",
    "Price",
    "Purpose",
    "Reading",
    "Receipt",
    "Reservation",
    "Role",
    "SampleBoard",
    "Sawn",
    "SentSheet",
    "SignIn",
    "Species",
    "Stack",
    "Stay",
    "Tag",
    "TallyLine",
    "Tries",
    "Unit",
    "UnitSystem",
    "Why",
    "WoodClass",
    "WoodPart",
    "log",
]
