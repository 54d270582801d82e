"""Personal texts outside what is signed: a salted commitment stands in their place.

Fields are personal by their type (`Person`, `PersonalText`, ...). A text is concealed by what it
says, not by where it stands: within a job the same text has the same commitment everywhere. So
whatever is computed from erased texts, such as whether two people were the same, comes out as it
was. Who has the salt of a text can prove that it was the one; without it nobody can find it by
trying.
"""

import hmac
import re
from collections.abc import Iterable, Iterator, Mapping
from hashlib import sha256
from typing import Any, NamedTuple, TypeVar

from msgspec import Struct, convert, to_builtins

from libexchange.canonical import canonical_json
from libexchange.errors import Fault, InvalidInput, OutOfRange
from libexchange.fields import ERASED_PATTERN, Digest
from libexchange.personal_fields import personal_texts

SALT_BYTES = 32
_ERASED = re.compile(ERASED_PATTERN)
_BEFORE, _AFTER = "[erased ", "]"
_COMMITMENT = re.compile("[0-9a-f]{64}")

Document = TypeVar("Document", bound=Struct)


class Disclosure(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A personal text with its own salt: proof of what stands behind a commitment."""

    salt: Digest
    value: str


class PersonalPlaces(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Where one personal text stands in a document, with its salt; null once it was erased."""

    salt: Digest | None
    pointers: tuple[str, ...]


class Concealed(NamedTuple):
    """A document as plain JSON values without its personal texts, and what those were."""

    form: Any
    places: tuple[PersonalPlaces, ...]
    disclosures: tuple[Disclosure, ...]


def salt_of(text: str, *, salt: bytes) -> str:
    """The salt of one text: HMAC-SHA-256 of its canonical JSON, keyed with the salt of its job.

    salt: 32 random bytes that the job keeps secret    Returns: 64 hexadecimal digits
    Raises: OutOfRange for a salt of another length    Source: RFC 2104, FIPS 180-4.

    >>> salt_of("invented", salt=bytes(32))[:8]
    '183cbaab'
    """
    if len(salt) != SALT_BYTES:
        raise OutOfRange(name="salt_bytes", value=len(salt), allowed=str(SALT_BYTES))
    return hmac.new(salt, canonical_json(text), sha256).hexdigest()


def commitment(text: str, *, salt: str) -> str:
    """SHA-256 over the salt of a text and its canonical JSON; an erased text gives its own back.

    salt: of this text, 64 hexadecimal digits    Source: FIPS 180-4.

    >>> first = commitment("invented", salt="ab" * 32)
    >>> first == commitment(erased(first), salt="cd" * 32)
    True
    """
    if is_erased(text):
        return text.removeprefix(_BEFORE).removesuffix(_AFTER)
    return sha256(bytes.fromhex(salt) + canonical_json(text)).hexdigest()


def erased(of: str) -> str:
    """What stands in place of an erased text.

    of: its commitment

    >>> erased("ab" * 32)[:12]
    '[erased abab'
    """
    return f"{_BEFORE}{of}{_AFTER}"


def is_erased(text: str) -> bool:
    """Whether a text is what erasure leaves.

    >>> is_erased(erased("ab" * 32)), is_erased("[erased]")
    (True, False)
    """
    return _ERASED.fullmatch(text) is not None


def conceal(document: Struct, *, salt: bytes) -> Concealed:
    """A record as plain values, each personal text replaced by `{"commitment": ...}`.

    salt: 32 random bytes, one for each job    Raises: OutOfRange for a salt of another length

    >>> from libexchange.plan.request import Vehicle
    >>> hidden = conceal(Vehicle(reference="invented 7", model_year=2015), salt=bytes(32))
    >>> hidden.form["model_year"], hidden.form["reference"]["commitment"][:8]
    (2015, '2ba34100')
    >>> hidden.places[0].pointers, hidden.disclosures[0].value
    (('/reference',), 'invented 7')
    """
    found: dict[str, list[str]] = {}
    for pointer, text in personal_texts(document):
        found.setdefault(text, []).append(pointer)
    places = [
        PersonalPlaces(
            salt=None if is_erased(text) else salt_of(text, salt=salt), pointers=tuple(pointers)
        )
        for text, pointers in found.items()
    ]
    return conceal_at(plain_of(document), places)


def plain_of(document: Struct) -> Any:
    """A record as plain values that can be changed: objects and lists, as they would be read back.

    >>> plain_of(PersonalPlaces(salt=None, pointers=("/by",)))
    {'salt': None, 'pointers': ['/by']}
    """
    return _with_lists(to_builtins(document, str_keys=True))


def _with_lists(value: Any) -> Any:
    if isinstance(value, dict):
        return {name: _with_lists(part) for name, part in value.items()}
    return [_with_lists(part) for part in value] if isinstance(value, list | tuple) else value


def conceal_at(plain: Any, places: Iterable[PersonalPlaces]) -> Concealed:
    """Plain values with the texts at these places replaced, which is done in place.

    Raises: InvalidInput where a place holds no text, or none that goes with its salt.

    >>> conceal_at({"by": erased("ab" * 32)}, [PersonalPlaces(salt=None, pointers=("/by",))]).form
    {'by': {'commitment': 'abababababababababababababababababababababababababababababababab'}}
    """
    places = tuple(places)
    disclosures: dict[Disclosure, None] = {}
    for one in places:
        for pointer in one.pointers:
            holder, name = _place(plain, pointer)
            text = holder[name]
            if (one.salt is None) != is_erased(text):
                raise _astray(pointer)
            holder[name] = {"commitment": commitment(text, salt=one.salt or "")}
            if one.salt is not None:
                disclosures[Disclosure(salt=one.salt, value=text)] = None
    return Concealed(form=plain, places=places, disclosures=tuple(disclosures))


def erase(document: Document, *, salt: bytes) -> Document:
    """The record with each personal text replaced by one that carries its commitment.

    Concealed it is what it was before, with any salt. Erasing twice changes nothing.
    salt: that of the job, which can be forgotten afterwards

    >>> from libexchange.plan.request import Vehicle
    >>> before = Vehicle(reference="invented 7", model_year=2015)
    >>> after = erase(before, salt=bytes(32))
    >>> after.reference == before.reference
    False
    >>> conceal(after, salt=bytes([9] * 32)).form == conceal(before, salt=bytes(32)).form
    True
    """
    hidden = conceal(document, salt=salt)
    return convert(erased_at(hidden.form, hidden.places), type=type(document))


def erased_at(form: Any, places: Iterable[PersonalPlaces]) -> Any:
    """Concealed values with erased texts at these places, which is done in place.

    >>> places = [PersonalPlaces(salt=None, pointers=("/by",))]
    >>> is_erased(erased_at({"by": {"commitment": "ab" * 32}}, places)["by"])
    True
    """
    for one in places:
        for pointer in one.pointers:
            holder, name = _holder(form, pointer)
            holder[name] = erased(holder[name]["commitment"])
    return form


def disclosed(form: Any, disclosures: Iterable[Disclosure]) -> Any:
    """Concealed values with every text that is disclosed put in its place.

    Raises: InvalidInput naming each disclosure that goes with no commitment, or is given twice.

    >>> from libexchange.plan.request import Vehicle
    >>> hidden = conceal(Vehicle(reference="invented 7"), salt=bytes(32))
    >>> disclosed(hidden.form, hidden.disclosures)["reference"]
    'invented 7'
    """
    known = frozenset(_commitments(form))
    texts: dict[str, str] = {}
    faults = []
    for number, one in enumerate(disclosures):
        of = commitment(one.value, salt=one.salt)
        if of not in known or of in texts or is_erased(one.value):
            faults.append(_unfit(number))
        texts[of] = one.value
    if faults:
        raise InvalidInput(*faults)
    return _told(form, texts)


def _told(value: Any, texts: Mapping[str, str]) -> Any:
    if (of := _commitment_in(value)) is not None:
        return texts.get(of, value)
    if isinstance(value, dict):
        return {name: _told(part, texts) for name, part in value.items()}
    return [_told(part, texts) for part in value] if isinstance(value, list) else value


def _commitments(value: Any) -> Iterator[str]:
    if (of := _commitment_in(value)) is not None:
        yield of
    elif isinstance(value, dict | list):
        for part in value.values() if isinstance(value, dict) else value:
            yield from _commitments(part)


def _commitment_in(value: Any) -> str | None:
    """The commitment that stands for a text here, if one does."""
    if not isinstance(value, dict) or value.keys() != {"commitment"}:
        return None
    of = value["commitment"]
    return of if isinstance(of, str) and _COMMITMENT.fullmatch(of) else None


def _place(plain: Any, pointer: str) -> tuple[Any, Any]:
    """What holds a text and under which name. Raises: InvalidInput where there is none."""
    try:
        holder, name = _holder(plain, pointer)
        text = holder[name]
    except (LookupError, TypeError, ValueError):
        raise _astray(pointer) from None
    if not isinstance(text, str) or isinstance(holder, str):
        raise _astray(pointer)
    return holder, name


def _holder(plain: Any, pointer: str) -> tuple[Any, Any]:
    *above, last = pointer.split("/")[1:]
    for name in above:
        plain = plain[_name_in(plain, name)]
    return plain, _name_in(plain, last)


def _name_in(holder: Any, name: str) -> Any:
    return int(name) if isinstance(holder, list) else name.replace("~1", "/").replace("~0", "~")


def _astray(pointer: str) -> InvalidInput:
    fault = Fault(
        pointer=pointer,
        code="disclosure-differs",
        detail="no personal text stands here that goes with what is said of it",
        allowed="the place of a text with its salt, or of an erased text without one",
        remedy="Take the record as it was answered.",
    )
    return InvalidInput(fault)


def _unfit(number: int) -> Fault:
    return Fault(
        pointer=f"/header/disclosures/{number}",
        code="disclosure-differs",
        detail="it goes with no commitment of the record, or with one that was disclosed before",
        allowed="the text and the salt that a commitment was made of, once",
        remedy="Take the disclosures that came with the record.",
    )
