"""Pools of fluid that move flow by flow: every litre that leaves one pool enters another.

Amounts are litres at 15 degC. Nothing here comes from the library that is being tried out.
"""

from dataclasses import dataclass
from math import exp

ALPHA_PER_K = 0.6278 / 850
"""Thermal expansion of the invented fluid at 15 degC [1/K]."""

CASE_PER_K = 6e-5
"""How the case grows with heat [1/K]."""


def grown(litres_15: float, at_c: float) -> float:
    """What an amount measures at a temperature [L]."""
    over_k = at_c - 15
    return litres_15 / exp(-ALPHA_PER_K * over_k * (1 + 0.8 * ALPHA_PER_K * over_k))


def at_15(litres: float, at_c: float) -> float:
    """What a volume measured at a temperature is at 15 degC [L]."""
    return litres / grown(1.0, at_c)


@dataclass
class Pool:
    """Fluid in one place, mixed in itself; `fresh` and `foreign` are litres of the whole.

    `foreign` is fluid of a kind that the unit does not take.
    """

    litres: float
    fresh: float = 0.0
    foreign: float = 0.0

    @property
    def fresh_share(self) -> float:
        """The part of it that is fresh [-]."""
        return self.fresh / self.litres if self.litres > 0 else 0.0

    def take(self, litres: float) -> "Pool":
        """Take out so much, or all there is."""
        part = min(litres / self.litres, 1.0) if self.litres > 0 else 0.0
        out = Pool(part * self.litres, part * self.fresh, part * self.foreign)
        self.litres -= out.litres
        self.fresh -= out.fresh
        self.foreign -= out.foreign
        return out

    def pour(self, other: "Pool") -> None:
        """Take all of another pool in."""
        self.litres += other.litres
        self.fresh += other.fresh
        self.foreign += other.foreign


def swap(one: Pool, other: Pool, litres: float) -> None:
    """So much goes each way at once."""
    there, back = one.take(litres), other.take(litres)
    one.pour(back)
    other.pour(there)


@dataclass
class Circuit:
    """Sump, converter and line as cells in a row, pockets behind clutches, stranded fluid.

    kappa: litres swapped with the pockets for a litre that flows
    returned: litres through the converter for a litre that reaches the line
    """

    sump: Pool
    converter: list[Pool]
    line: list[Pool]
    pockets: Pool
    stranded: Pool
    kappa: float = 0.12
    returned: float = 1.0

    def pools(self) -> list[Pool]:
        """All of them."""
        return [self.sump, *self.converter, *self.line, self.pockets, self.stranded]

    @property
    def litres(self) -> float:
        """All the fluid in the unit at 15 degC [L]."""
        return sum(pool.litres for pool in self.pools())

    @property
    def fresh_share(self) -> float:
        """The fresh part of all the fluid [-]."""
        return sum(pool.fresh for pool in self.pools()) / self.litres

    @property
    def foreign(self) -> float:
        """Litres that the unit does not take."""
        return sum(pool.foreign for pool in self.pools())

    def circulate(self, litres: float, *, looped: bool = True) -> Pool:
        """The pump moves so much on; it comes back to the sump, or is what left by the line."""
        moving = self.sump.take(self.returned * litres)
        for cell in self.converter:
            moving = _pushed(cell, moving)
        if self.returned > 1:
            self.sump.pour(moving.take((1 - 1 / self.returned) * moving.litres))
        for cell in self.line:
            moving = _pushed(cell, moving)
        swap(self.sump, self.pockets, min(self.kappa * litres, self.pockets.litres))
        if not looped:
            return moving
        self.sump.pour(moving)
        return Pool(0.0)

    def exchange(self, out_l: float, fed: Pool, *, steps: int = 50) -> Pool:
        """Old fluid leaves by the line while other fluid is fed in, step by step; what left."""
        left, each = Pool(0.0), fed.litres / steps
        for _ in range(steps):
            left.pour(self.circulate(out_l / steps, looped=False))
            self.sump.pour(fed.take(each))
        return left

    def idle(self, litres: float, *, steps: int = 40) -> None:
        """The loop is closed and everything goes round."""
        for _ in range(steps):
            self.circulate(litres / steps)

    def drain(self, *, converter: float = 0.05, pockets: float = 0.15, sump: float = 0.88) -> Pool:
        """What leaves by the open pan, as parts of each pool; the sump refills what ran back."""
        out = self.sump.take(sump * self.sump.litres)
        for pool, part in [
            *((cell, converter) for cell in self.converter),
            (self.pockets, pockets),
        ]:
            out.pour(pool.take(part * pool.litres))
        return out

    def settle(self, whole: dict[str, float]) -> None:
        """With the pump running, converter and pockets fill up again from the sump."""
        for cell in self.converter:
            lacking = whole["converter"] / len(self.converter) - cell.litres
            cell.pour(self.sump.take(max(lacking, 0.0)))
        self.pockets.pour(self.sump.take(max(whole["pockets"] - self.pockets.litres, 0.0)))
        for cell in self.line:
            cell.pour(self.sump.take(max(whole["line"] / len(self.line) - cell.litres, 0.0)))


def _pushed(cell: Pool, moving: Pool) -> Pool:
    """As much leaves a full cell as comes in; halves before and after, to be of second order."""
    half = moving.take(moving.litres / 2)
    amount = half.litres
    out = cell.take(amount)
    cell.pour(half)
    cell.pour(moving.take(amount))
    out.pour(cell.take(amount))
    return out


def circuit_of(parts: dict[str, float], *, kappa: float = 0.12, returned: float = 1.0) -> Circuit:
    """A circuit full of old fluid; parts: litres of sump, converter, line, pockets, stranded."""
    return Circuit(
        sump=Pool(parts["sump"]),
        converter=[Pool(parts["converter"] / 2) for _ in range(2)] if parts["converter"] else [],
        line=[Pool(parts["line"] / 4) for _ in range(4)] if parts["line"] else [],
        pockets=Pool(parts["pockets"]),
        stranded=Pool(parts["stranded"]),
        kappa=kappa,
        returned=returned,
    )
