"""What a load looks like: boards or packs, the space they go into, and where each of them lies.

Axes: x along the chamber's length (the lanes run along it), y across its width, z upwards. All lengths in mm, from
the corner of the stacking space; baffles and door clearance are already taken off `Space`.
"""

from dataclasses import dataclass

LARGEST_MM = 1e6


@dataclass(frozen=True, slots=True)
class Board:
    """One board of the stack with the given code; sizes above 0 mm, ValueError else."""

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


@dataclass(frozen=True, slots=True)
class Baffle:
    """An opening the air would short-circuit through: where ("top" or "side"), how wide, beside which layers."""

    where: str
    width_mm: float
    from_layer: int
    to_layer: int


@dataclass(frozen=True, slots=True)
class Layout:
    """A charge of boards, laid out.

    `layers_bound` is the proven smallest number of layers for the boards given (longer ones than the space takes left
    out). `chamber_fill` is wood over the whole stacking space, `area_fill` wood area over the area of the used layers.
    `attainable_m3` is a proven upper bound on the wood of this stock that fits, `of_attainable` is what was reached
    of it: layers_bound / layers where everything fits, else volume placed / attainable volume. Never above 1.
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
