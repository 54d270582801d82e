"""What a catalogue record refuses by itself."""

import pytest

from libexchange.catalogue import TemperatureWindow
from libexchange.errors import OutOfRange
from libexchange.quantities import Temperature


def test_a_window_whose_edges_are_exchanged_is_refused() -> None:
    with pytest.raises(OutOfRange) as refused:
        TemperatureWindow(low=Temperature(45.001, "Cel"), high=Temperature(45, "Cel"))

    assert str(refused.value) == "low is 45.001, allowed is up to high, 45"


def test_a_window_may_be_a_single_temperature() -> None:
    window = TemperatureWindow(low=Temperature(45, "Cel"), high=Temperature(113, "[degF]"))

    assert window.low.c == window.high.c == 45
