"""A kind of wood as the drying model sees it."""

from dataclasses import dataclass

from drying.ranges import within


@dataclass(frozen=True, slots=True)
class Wood:
    """What the model needs of a species.

    basic_density_kg_m3: oven-dry mass over green volume; permeability: free-water factor, 1 (oak) to 5 (pine sapwood);
    rate: median of the factor on all drying rates; rate_log_sd: spread of its logarithm;
    wood_class: "hardwood" or "softwood". 100..1300 kg/m3, 0.1..10, 0.001..50, 0..3; ValueError outside.
    """

    basic_density_kg_m3: float
    permeability: float
    rate: float
    rate_log_sd: float
    wood_class: str = "hardwood"

    def __post_init__(self) -> None:
        for name, (low, high, unit) in _WOOD.items():
            if not low <= (value := getattr(self, name)) <= high:
                within(name.split("_kg")[0].replace("_", " ") + " of the wood", value, low, high, unit)
        if self.wood_class not in ("hardwood", "softwood"):
            raise ValueError(f"wood class {self.wood_class!r} is not one of hardwood, softwood")


_WOOD = {
    "basic_density_kg_m3": (100.0, 1300.0, "kg/m³"),
    "permeability": (0.1, 10.0, ""),
    "rate": (1e-3, 50.0, "times"),
    "rate_log_sd": (0.0, 3.0, ""),
}
