"""What a load looks like: boards or packs, the space they go into, and where each of them lies.

Axes: x along the chamber's length (the lanes run along it), y across its width, z upwards. All lengths in mm, from
the corner of the stacking space; baffles and door clearance are already taken off `Space`.
"""

from dataclasses import dataclass, replace

from drying.ranges import within

LARGEST_MM = 1e6


@dataclass(frozen=True, slots=True)
class Board:
    """One board of the stack with the given code; sizes above 0 mm, ValueError else.

    `width_mm` is what it takes of the layer: of a live-edge board its widest place.
    """

    stack: str
    length_mm: float
    width_mm: float
    thickness_mm: float

    def __post_init__(self) -> None:
        for name in ("length_mm", "width_mm", "thickness_mm"):
            if not 0 < getattr(self, name) <= LARGEST_MM:
                raise ValueError(f"{name} of a board is {getattr(self, name)}; it is above 0 to {LARGEST_MM:g} mm")

    @property
    def volume_m3(self) -> float:
        return self.length_mm * self.width_mm * self.thickness_mm * 1e-9


@dataclass(frozen=True, slots=True)
class Space:
    """A kiln's stacking space. `sticker_mm` is the height of the stickers, or of the bolsters under packs.

    `longest_board_mm` is what passes the loading door (None: the space's own length).
    """

    length_mm: float
    width_mm: float
    height_mm: float
    sticker_mm: float = 25.0
    longest_board_mm: float | None = None

    def __post_init__(self) -> None:
        for name in ("length_mm", "width_mm", "height_mm"):
            if not 0 < getattr(self, name) <= LARGEST_MM:
                raise ValueError(f"{name} is {getattr(self, name)}; a stacking space is above 0 to {LARGEST_MM:g} mm")
        if not 0 <= self.sticker_mm <= 1000:
            raise ValueError(f"sticker_mm is {self.sticker_mm}; give 0 to 1000 mm")

    @property
    def reach_mm(self) -> float:
        """Longest board or pack that can be brought in."""
        if self.longest_board_mm is None:
            return self.length_mm
        return min(self.length_mm, self.longest_board_mm)

    def served_by(self, largest_air_m3: float | None = None, blow_length_mm: float | None = None) -> "Space":
        """What of this space a drying unit serves: no wider than its air blows (across the chamber, along the
        stickers), and closed off at the far end until the space holds no more than its largest air volume, m3.
        ValueError for limits of 0 or less."""
        for name, limit in (("largest_air_m3", largest_air_m3), ("blow_length_mm", blow_length_mm)):
            if limit is not None and not 0 < limit <= LARGEST_MM:
                raise ValueError(f"{name} is {limit}; a unit's limit is above 0")
        width = min(self.width_mm, blow_length_mm or self.width_mm)
        length = self.length_mm
        if largest_air_m3 is not None:
            length = min(length, float(int(largest_air_m3 * 1e9 / (width * self.height_mm))))
        return replace(self, length_mm=length, width_mm=width)

    def layers_of(self, thickness_mm: float) -> int:
        """How many layers of one thickness, each on its stickers, go into the height."""
        return int((self.height_mm + 1e-6) // (thickness_mm + self.sticker_mm))

    def layer_m3(self, thickness_mm: float) -> float:
        """Wood in one layer without any gap."""
        return self.length_mm * self.width_mm * thickness_mm * 1e-9


@dataclass(frozen=True, slots=True)
class Placed:
    """Where one board lies: its corner nearest the origin, its layer (0 lowest) and its lane in the layer."""

    stack: str
    layer: int
    lane: int
    x_mm: float
    y_mm: float
    z_mm: float
    length_mm: float
    width_mm: float
    thickness_mm: float


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of one thickness on its stickers; `z_mm` is the underside of its boards.

    `open_mm2` is the area without wood; `open_width_mm` is the strip beside the lanes, which a baffle closes.
    `joints_mm` are the x of end joints: each must lie over a sticker. `complete` layers carry what is above.
    `mass_kg` is its wood as it is now, where the stacks' masses are known.
    """

    index: int
    thickness_mm: float
    z_mm: float
    used_width_mm: float
    open_width_mm: float
    open_mm2: float
    lanes: int
    joints_mm: tuple[float, ...]
    complete: bool
    mass_kg: float | None = None


@dataclass(frozen=True, slots=True)
class Baffle:
    """An opening the air would short-circuit through: where ("top", "side", or "end" away from the door), how wide,
    beside which layers."""

    where: str
    width_mm: float
    from_layer: int
    to_layer: int


@dataclass(frozen=True, slots=True)
class StackWood:
    """What a stack weighs now, kg/m3 of its boards' volume, and its moisture, %; ValueError for what no wood has."""

    kg_per_m3: float
    moisture_pct: float

    def __post_init__(self) -> None:
        within("mass of a stack", self.kg_per_m3, 50, 2000, "kg/m³")
        within("moisture of a stack", self.moisture_pct, 0, 500, "%")


@dataclass(frozen=True, slots=True)
class LaneRest:
    """Lanes alike that leave `rest_mm` or more of the chamber's length: boards from `from_mm` to `to_mm` would fill
    them, `volume_m3` in `lanes` lanes, `a_lane` of them in each."""

    rest_mm: float
    from_mm: float
    to_mm: float
    lanes: int
    a_lane: int
    volume_m3: float


@dataclass(frozen=True, slots=True)
class SamplePlace:
    """Where a sample board belongs: a layer and lane in reach of the door (x 0), at the side where the air "enters" or
    "leaves" the load (they change places when the fans turn), in the place of a board of this stack."""

    side: str
    stack: str
    layer: int
    lane: int
    x_mm: float
    y_mm: float
    z_mm: float


@dataclass(frozen=True, slots=True)
class Layout:
    """A charge of boards, laid out.

    `layers_bound` is the proven smallest number of layers for the boards given (longer ones than the space takes left
    out). `chamber_fill` is wood over the whole stacking space, `area_fill` wood area over the area of the used layers.
    `attainable_m3` is a proven upper bound on the wood of this stock that fits, `of_attainable` is what was reached
    of it: layers_bound / layers where everything fits, else volume placed / attainable volume. Never above 1.
    `rests` say what lengths would still fill lanes, most area first. `mass_kg` is known where all stacks' masses are.
    """

    space: Space
    placed: tuple[Placed, ...]
    layers: tuple[Layer, ...]
    unplaced: tuple[Board, ...]
    layers_bound: int
    volume_m3: float
    attainable_m3: float
    chamber_fill: float
    area_fill: float
    of_attainable: float
    baffles: tuple[Baffle, ...]
    rests: tuple[LaneRest, ...] = ()
    samples: tuple[SamplePlace, ...] = ()
    mass_kg: float | None = None

    @property
    def height_mm(self) -> float:
        """Top of the load."""
        return max((layer.z_mm + layer.thickness_mm for layer in self.layers), default=0.0)


@dataclass(frozen=True, slots=True)
class Pack:
    """One pack (stickered bundle moved by forklift), not divided; sizes above 0 mm, ValueError else."""

    stack: str
    length_mm: float
    width_mm: float
    height_mm: float

    def __post_init__(self) -> None:
        for name in ("length_mm", "width_mm", "height_mm"):
            if not 0 < getattr(self, name) <= LARGEST_MM:
                raise ValueError(f"{name} of a pack is {getattr(self, name)}; it is above 0 to {LARGEST_MM:g} mm")


@dataclass(frozen=True, slots=True)
class PlacedPack:
    """Where one pack stands: tier 0 is on the floor; `supported` is the share of its base with a pack beneath."""

    stack: str
    tier: int
    row: int
    x_mm: float
    y_mm: float
    z_mm: float
    length_mm: float
    width_mm: float
    height_mm: float
    supported: float


@dataclass(frozen=True, slots=True)
class PackLayout:
    """A charge of packs. `attainable` bounds from above the share of the space that these packs can take (0 to 1)."""

    space: Space
    placed: tuple[PlacedPack, ...]
    unplaced: tuple[Pack, ...]
    tiers: int
    chamber_fill: float
    attainable: float
    baffles: tuple[Baffle, ...]

    @property
    def of_attainable(self) -> float:
        return min(1.0, self.chamber_fill / self.attainable) if self.attainable > 0 else 0.0
