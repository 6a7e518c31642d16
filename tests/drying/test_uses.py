"""How dry for what: handbooks' targets, and the equilibrium of a room."""

import pytest

from drying.uses import AIMS, room_target_pct, usual_target_pct


def test_the_delivery_targets_of_svenskt_tra():
    # TraGuiden table 3: 8 % heated indoor floors, 12 % indoor cladding and mouldings, 16 % structural and exterior
    targets = {use: aim.target_pct for use, aim in AIMS.items()}
    assert targets == {"furniture": 8, "floor": 8, "joinery": 12, "outdoor": 16, "framing": 16}
    assert all(aim.source for aim in AIMS.values())


# Wood Handbook (FPL-GTR-282), table 4-2: EMC at 70 °F (21.1 °C): 40 % 7.7, 50 % 9.2, 65 % 12.0
@pytest.mark.parametrize(("humidity", "moisture"), [(40, 7.7), (50, 9.2), (65, 12.0)])
def test_a_room_brings_wood_to_its_equilibrium(humidity, moisture):
    assert room_target_pct(21.1, humidity) == pytest.approx(moisture, abs=0.05)


def test_unknown_uses_are_refused():
    with pytest.raises(ValueError, match="use 'boat' is not one of furniture"):
        usual_target_pct("boat")
