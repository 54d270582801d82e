"""Samples of the outflow as they come: put in order, and what is doubtful about them."""

from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise
from math import fsum, sqrt
from typing import Annotated, NamedTuple

from msgspec import Meta, Struct

from libexchange import outflow_findings as kinds
from libexchange.findings import Finding
from libexchange.outflow import Line
from libexchange.outflow_integral import OutflowShares
from libexchange.quantities import Volume

SURE = 2.5758293035489004
"""Standard deviations that 99 % of readings stay within."""

LARGEST_RISE = 0.4
"""Rise of the share from one sample to the next above which they lie far apart [-]."""

CLOSEST = 5.0
"""Old and fresh fluid differ by at least so many of the largest standard deviation."""

DECIMALS = 9
"""Of litres: quarts that stand for the same litres are the same."""

Reading = Annotated[float, Meta(ge=-1e9, le=1e9)]


class OutflowSample(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What a sample of the outflow reads, taken after so many litres of line exchange.

    value: in the unit of the references, or a fresh share    uncertainty: its standard deviation
    exchanged: litres through the line when it was taken, from 0
    """

    exchanged: Volume
    value: Reading
    uncertainty: Annotated[float, Meta(ge=1e-9, le=1e9)]


class OutflowReference(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What old or fresh fluid reads, and the standard deviation of that.

    value: in the unit of the signal    uncertainty: in the same unit
    """

    value: Reading
    uncertainty: Annotated[float, Meta(ge=0, le=1e9)]


class Ordered(NamedTuple):
    """Samples in the order of the litres, those at the same litres averaged; where each stood."""

    litres: list[float]
    values: list[float]
    uncertainties: list[float]
    places: list[int]


def ordered(samples: Sequence[OutflowSample], exchanged_l: float) -> Ordered:
    """The samples that count, weighed by their uncertainty where they lie at the same litres.

    >>> one = OutflowSample(exchanged=Volume(4, "L"), value=1, uncertainty=0.1)
    >>> two = OutflowSample(exchanged=Volume(4, "L"), value=2, uncertainty=0.1)
    >>> ordered([one, two], 4.0).values
    [1.5]
    """
    litres_of = [_litres(sample) for sample in samples]
    end_l = round(exchanged_l, DECIMALS)
    kept = [(litres, place) for place, litres in enumerate(litres_of) if litres <= end_l]
    found = Ordered([], [], [], [])
    for litres, group in groupby(sorted(kept), key=lambda pair: pair[0]):
        places = [place for _, place in group]
        weights = [samples[place].uncertainty ** -2 for place in places]
        weighed = (w * samples[place].value for w, place in zip(weights, places, strict=True))
        found.litres.append(min(litres, exchanged_l))
        found.values.append(fsum(weighed) / fsum(weights))
        found.uncertainties.append(fsum(weights) ** -0.5)
        found.places.append(places[0])
    return found


def _litres(sample: OutflowSample) -> float:
    return round(sample.exchanged.l, DECIMALS)


def order_findings(samples: Sequence[OutflowSample], exchanged_l: float) -> Iterator[Finding]:
    """Samples out of order, at the same litres, and beyond the exchange.

    >>> late = OutflowSample(exchanged=Volume(9.1, "L"), value=0.5, uncertainty=0.1)
    >>> [finding.code for finding in order_findings([late], 9.0)]
    ['outflow-sample-beyond-exchange']
    """
    litres, end_l = [_litres(sample) for sample in samples], round(exchanged_l, DECIMALS)
    if any(later < earlier for earlier, later in pairwise(litres)):
        yield kinds.OUT_OF_ORDER.at("#/samples", "They were sorted.")
    for place, at_l in enumerate(litres):
        pointer, values = f"#/samples/{place}", {"exchanged_l": at_l}
        if at_l > end_l:
            text = f"Taken at {at_l:g} L of {exchanged_l:g} L; left out."
            yield kinds.BEYOND_EXCHANGE.at(pointer, text, values=values)
        elif at_l in litres[:place]:
            yield kinds.SAME_LITRES.at(pointer, f"Another one at {at_l:g} L.", values=values)


def reference_findings(line: Line, uncertainties: Sequence[float]) -> list[Finding]:
    """Whether old and fresh fluid read too much alike to tell shares.

    >>> line = Line(old=50.0, fresh=60.0, old_uncertainty=2.1, fresh_uncertainty=0.0)
    >>> [finding.code for finding in reference_findings(line, [1.0])]
    ['outflow-references-too-close']
    """
    largest = max(line.old_uncertainty, line.fresh_uncertainty, *uncertainties, 0.0)
    difference = abs(line.fresh - line.old)
    if difference > 0 and difference >= CLOSEST * largest:
        return []
    text = f"They differ by {difference:g} at a standard deviation of {largest:g}."
    values = {"difference": difference, "uncertainty": largest}
    return [kinds.REFERENCES_CLOSE.at("#/fresh_reference", text, values=values)]


def share_findings(
    outflow: OutflowShares, places: Sequence[int], exchanged_l: float
) -> Iterator[Finding]:
    """Shares that cannot be, that fall or rise by much, and an end without a sample.

    places: where each sample stood

    >>> noise = ((1e-4, 0.0), (0.0, 1e-4))
    >>> told = OutflowShares((4.0, 8.0), (0.3, 1.03), noise)
    >>> [finding.code for finding in share_findings(told, [0, 1], 8.0)]
    ['outflow-share-impossible', 'outflow-samples-far-apart']
    """
    deviations = [sqrt(row[at]) for at, row in enumerate(outflow.covariance)]
    for share, deviation, place in zip(outflow.shares, deviations, places, strict=True):
        if not -SURE * deviation <= share <= 1 + SURE * deviation:
            text = f"It reads as a share of {share:.3g}, known to {deviation:.2g}."
            values = {"share": share, "uncertainty": deviation}
            yield kinds.SHARE_IMPOSSIBLE.at(f"#/samples/{place}", text, values=values)
    yield from _changes(outflow, places)
    if outflow.litres[-1] < exchanged_l:
        text = f"The last sample was taken at {outflow.litres[-1]:g} L of {exchanged_l:g} L."
        values = {"exchanged_l": exchanged_l, "last_l": outflow.litres[-1]}
        yield kinds.END_NOT_SAMPLED.at(f"#/samples/{places[-1]}", text, values=values)


def _changes(outflow: OutflowShares, places: Sequence[int]) -> Iterator[Finding]:
    pairs = zip(pairwise((0.0, *outflow.shares)), places, strict=True)
    for at, ((before, share), place) in enumerate(pairs):
        values = {"share": share, "share_before": before}
        text = f"The share goes from {before:.2f} to {share:.2f}."
        if share - before > LARGEST_RISE:
            yield kinds.FAR_APART.at(f"#/samples/{place}", text, values=values)
        elif at and before - share > SURE * _deviation_of_change(outflow, at):
            yield kinds.SHARE_FALLS.at(f"#/samples/{place}", text, values=values)


def _deviation_of_change(outflow: OutflowShares, at: int) -> float:
    before, now = outflow.covariance[at - 1], outflow.covariance[at]
    return sqrt(before[at - 1] + now[at] - 2 * now[at - 1])
