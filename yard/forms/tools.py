"""The calculators of the page Tools, in its order."""

from yard.forms.figures import ToolForm
from yard.forms.tools_air import AirForm, EmcForm, MoistAirForm
from yard.forms.tools_drying import DryingForm
from yard.forms.tools_moisture import MeterForm, OvenDryForm, SampleBoardForm
from yard.forms.tools_size import FinishedForm, MassForm, SawingForm

TOOLS: dict[str, type[ToolForm]] = {
    form.key: form
    for form in (
        EmcForm,
        AirForm,
        MoistAirForm,
        MeterForm,
        OvenDryForm,
        SampleBoardForm,
        SawingForm,
        FinishedForm,
        MassForm,
        DryingForm,
    )
}
