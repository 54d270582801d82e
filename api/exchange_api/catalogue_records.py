"""The kinds of catalogue entries, as they are kept and answered."""

from collections.abc import Callable
from typing import Any, Literal, TypeAlias

from msgspec import Struct

from libexchange.catalogue import Additive, FluidProduct, TransmissionProfile
from libexchange.fields import Instant

Scope: TypeAlias = Literal["installation", "workshop"]
CatalogueRecord: TypeAlias = TransmissionProfile | FluidProduct | Additive


class TransmissionEntry(Struct, frozen=True, kw_only=True):
    """A transmission of the catalogue; `scope` says whether the installation or the workshop
    keeps it, `version` counts its changes there.

    entry: the transmission    updated_at: of the last change
    version: counts the changes    scope: who keeps it, the installation or the workshop
    """

    entry: TransmissionProfile
    version: int
    scope: Scope
    updated_at: Instant


class FluidEntry(Struct, frozen=True, kw_only=True):
    """A fluid of the catalogue; `scope` says whether the installation or the workshop keeps it,
    `version` counts its changes there.
    """

    entry: FluidProduct
    version: int
    scope: Scope
    updated_at: Instant


class AdditiveEntry(Struct, frozen=True, kw_only=True):
    """An additive of the catalogue; `scope` says whether the installation or the workshop keeps
    it, `version` counts its changes there.
    """

    entry: Additive
    version: int
    scope: Scope
    updated_at: Instant


Entry: TypeAlias = TransmissionEntry | FluidEntry | AdditiveEntry


class EntryKind(Struct, frozen=True, kw_only=True):
    """One kind of entries.

    words: what of a record is searched by text    family: of its own column, where it has one
    """

    name: Literal["transmission", "fluid", "additive"]
    record: type[Any]
    answer: type[Any]
    words: Callable[[Any], tuple[str, ...]]
    family: Callable[[Any], str | None]

    @property
    def id_field(self) -> str:
        """The member that holds an entry's id."""
        return f"{self.name}_id"

    def entry_id(self, record: CatalogueRecord) -> str:
        """The id of a record."""
        return str(getattr(record, self.id_field))

    def search_text(self, record: CatalogueRecord) -> str:
        """What is searched, one piece a line, in lower case.

        >>> from libexchange.invented import red_fluid
        >>> FLUID.search_text(red_fluid()).splitlines()
        ['invented-red-fluid', 'invented red fluid', 'invented-red-six']
        """
        return "\n".join((self.entry_id(record), record.name, *self.words(record))).casefold()


def _words_of_transmission(profile: TransmissionProfile) -> tuple[str, ...]:
    return (profile.family, *profile.fluid_kinds, *(fit.model for fit in profile.fits))


def _words_of_fluid(fluid: FluidProduct) -> tuple[str, ...]:
    return fluid.kinds


TRANSMISSION = EntryKind(
    name="transmission",
    record=TransmissionProfile,
    answer=TransmissionEntry,
    words=_words_of_transmission,
    family=lambda profile: str(profile.family),
)
FLUID = EntryKind(
    name="fluid",
    record=FluidProduct,
    answer=FluidEntry,
    words=_words_of_fluid,
    family=lambda _: None,
)
ADDITIVE = EntryKind(
    name="additive",
    record=Additive,
    answer=AdditiveEntry,
    words=lambda additive: (str(additive.kind),),
    family=lambda _: None,
)
KINDS: tuple[EntryKind, ...] = (TRANSMISSION, FLUID, ADDITIVE)
