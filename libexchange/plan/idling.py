"""Whether the engine of a unit can be kept idling, or starts and stops by itself."""

from libexchange.catalogue import TransmissionProfile


def may_not_idle(transmission: TransmissionProfile) -> bool:
    """Whether the engine does not idle on command, or is not known to in a vehicle that stops it.

    Source: common practice.

    >>> from msgspec.structs import replace
    >>> from libexchange.invented import six_speed
    >>> may_not_idle(six_speed()), may_not_idle(replace(six_speed(), high_voltage="yes"))
    (False, True)
    """
    idles = transmission.engine_idles_on_command
    return idles == "no" or (idles == "unknown" and is_hybrid(transmission))


def is_hybrid(transmission: TransmissionProfile) -> bool:
    """Whether the vehicle carries high voltage, as far as its unit tells; no power split lacks it.

    >>> from libexchange.invented import six_speed
    >>> is_hybrid(six_speed())
    False
    """
    return transmission.high_voltage == "yes" or transmission.family == "power_split_hybrid"
