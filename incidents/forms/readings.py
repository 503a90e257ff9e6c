"""The kinds that can be logged, in the fixed order of their buttons."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from incidents.forms.entry import EntryForm
from incidents.forms.instruments import (
    AirCheckForm,
    DosimeterForm,
    GasMeterForm,
    SignForm,
    ThermalImagerForm,
)
from incidents.forms.papers import FluoridePaperForm, KiStarchPaperForm, PhPaperForm

READING_FORMS: Final[Mapping[str, type[EntryForm]]] = MappingProxyType(
    {
        form.kind: form
        for form in (
            PhPaperForm,
            KiStarchPaperForm,
            FluoridePaperForm,
            GasMeterForm,
            ThermalImagerForm,
            SignForm,
            DosimeterForm,
            AirCheckForm,
        )
    }
)
