"""What a catalogue record refuses by itself."""

import pytest

from libexchange.catalogue import TemperatureWindow
from libexchange.errors import InvalidInput
from libexchange.quantities import Temperature


def test_a_window_whose_edges_are_exchanged_is_refused() -> None:
    low = Temperature(45.001, "Cel")
    with pytest.raises(InvalidInput) as refused:
        TemperatureWindow(low=low, high=Temperature(45, "Cel"))

    (told,) = refused.value.faults
    assert (told.pointer, told.code, told.value) == ("/low", "window-reversed", low)
    assert (told.detail, told.allowed, told.remedy) == (
        "the lower edge is above the upper edge",
        "up to 45 °C",
        "Give the lower edge as low and the upper edge as high.",
    )


def test_a_window_may_be_a_single_temperature() -> None:
    window = TemperatureWindow(low=Temperature(45, "Cel"), high=Temperature(113, "[degF]"))

    assert window.low.c == window.high.c == 45
