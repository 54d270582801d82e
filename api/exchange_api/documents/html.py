"""HTML from a template and a document's content: no scripts, nothing from the network."""

from functools import lru_cache

import msgspec
from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from exchange_api.documents.svg import Picture
from exchange_api.documents.words import without_commitments


def make_html(template: str, content: msgspec.Struct) -> bytes:
    """The page that a template makes of a content; the same content gives the same bytes."""
    page = _environment().get_template(template).render(doc=content)
    return without_commitments(page).encode()


@lru_cache(maxsize=1)
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("exchange_api.documents", "templates"), autoescape=True,
        undefined=StrictUndefined, trim_blocks=True, lstrip_blocks=True,
    )  # fmt: skip
    environment.filters["drawn"] = drawn
    return environment


def drawn(picture: Picture) -> Markup:
    """A picture as it stands in a page; what it says was escaped when it was drawn."""
    return Markup(picture.svg)  # noqa: S704  # our own elements, see svg.py
