"""Line exchanges simulated flow by flow, with samples that scatter: what the library is told.

Nothing of the library's model is used: each cell's balance stands below, litre by litre.
"""

from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp

from libexchange.circuit import Circuit, CircuitState, all_old
from libexchange.outflow import Line, ShareInterval, fresh_share_by_check_sum, shares_of
from libexchange.outflow_integral import OutflowShares

Cells = NDArray[np.float64]
CONVERTER_CELLS, LINE_CELLS = 2, 4
OLD, FRESH = 55.0, 155.0
"""Content of an element in the old and the fresh fluid of these runs [mg/kg]."""


class Run(NamedTuple):
    """A simulated exchange: what left at the sampled litres, and the share inside at its end."""

    circuit: Circuit
    state: CircuitState
    litres: list[float]
    leaving: list[float]
    start_share: float
    inside: float


def _change(_litres: float, cells: Cells, c: Circuit) -> Cells:
    sump, c1, c2, l1, l2, l3, l4, pockets, _ = cells
    kappa, g, sigma = c.pocket_exchange, c.internal_return, c.short_cut
    drawn = (sigma * 1.0 + (g - sigma) * sump) / g
    cell_l, piece_l = c.converter_l / CONVERTER_CELLS, c.line_l / LINE_CELLS
    into_sump = (1 - sigma) + (g - 1) * c2 - (g - sigma) * sump + kappa * (pockets - sump)
    return np.array([
        into_sump / c.sump_l,
        g * (drawn - c1) / cell_l, g * (c1 - c2) / cell_l,
        (c2 - l1) / piece_l, (l1 - l2) / piece_l, (l2 - l3) / piece_l, (l3 - l4) / piece_l,
        kappa * (sump - pockets) / c.pockets_l,
        l4,
    ])  # fmt: skip


def simulate(circuit: Circuit, *, drained: float, litres: list[float]) -> Run:
    """An exchange up to the last of these litres, after so large a part of the sump was drained."""
    start = np.zeros(9)
    start[0] = drained
    solved = solve_ivp(
        _change, (0, litres[-1]), start, args=(circuit,), t_eval=litres, method="LSODA",
        rtol=1e-9, atol=1e-11,
    )  # fmt: skip
    start_share = circuit.sump_l * drained / circuit.total_l
    fresh_l = circuit.total_l * start_share + litres[-1] - float(solved.y[8][-1])
    old = all_old(circuit)
    return Run(
        circuit=circuit,
        state=CircuitState(
            sump=drained, converter=old.converter, line=old.line, pockets=0.0, stranded=0.0
        ),
        litres=litres,
        leaving=[float(share) for share in solved.y[6]],
        start_share=start_share,
        inside=fresh_l / circuit.total_l,
    )


def some_run(chance: np.random.Generator) -> Run:
    """A unit of 6 to 14 L, exchanged by 0.8 to 1.6 of its fill and sampled 9 to 16 times."""
    total_l = chance.uniform(6, 14)
    parts = chance.dirichlet([45, 28, 8, 12, 3]) * total_l
    sump_l, converter_l, line_l, pockets_l, stranded_l = (max(0.06, float(p)) for p in parts)
    circuit = Circuit(
        sump_l=sump_l,
        converter_l=converter_l,
        line_l=line_l,
        pockets_l=pockets_l,
        stranded_l=stranded_l,
        pocket_exchange=chance.uniform(0.03, 0.5),
        internal_return=chance.uniform(1, 2),
        short_cut=chance.uniform(0, 0.15),
    )
    samples = int(chance.integers(9, 17))
    end_l = chance.uniform(0.8, 1.6) * circuit.total_l
    litres = [float(l) for l in np.linspace(0, end_l, samples + 1)[1:]]  # noqa: E741 -- litre's own symbol
    return simulate(circuit, drained=float(chance.choice([0.0, 0.5])), litres=litres)


def read(
    run: Run, chance: np.random.Generator, *, noise: float = 0.02, reference_noise: float = 0.01
) -> OutflowShares:
    """The samples of a run as a laboratory reads them; noise as standard deviations of a share."""
    span = FRESH - OLD
    old, fresh = (float(chance.normal(x, reference_noise * span)) for x in (OLD, FRESH))
    signals = [float(chance.normal(OLD + span * share, noise * span)) for share in run.leaving]
    return shares_of(
        litres=run.litres,
        signals=signals,
        uncertainties=[noise * span] * len(signals),
        line=Line(old, fresh, reference_noise * span, reference_noise * span),
    )


def summed(**asked: Any) -> ShareInterval:
    """The share by check-sum of samples that can be."""
    share = fresh_share_by_check_sum(**asked)
    assert share is not None
    return share
