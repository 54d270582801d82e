"""The catalogue of findings: whole, without doubles, and the same wherever it is shown."""

import re
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages

import httpx
import msgspec

import libexchange
from exchange_api.cli import main
from exchange_api.findings_page import findings_page
from libexchange.finding_catalogue import ALL_KINDS
from libexchange.findings import Kind, Rule

COMMITTED = Path(__file__).parents[2] / "openapi" / "findings.md"


def kinds_of_all_modules() -> set[Kind]:
    names = [module.name for module in walk_packages(libexchange.__path__, "libexchange.")]
    values = [value for name in names for value in vars(import_module(name)).values()]
    listed = [item for value in values if isinstance(value, tuple) for item in value]
    of_rules = [item.kind for item in listed if isinstance(item, Rule)]
    return {value for value in (*values, *listed, *of_rules) if isinstance(value, Kind)}


def test_no_kind_is_forgotten() -> None:
    assert {kind.code for kind in kinds_of_all_modules()} == {kind.code for kind in ALL_KINDS}


def test_no_code_is_used_twice() -> None:
    codes = [kind.code for kind in kinds_of_all_modules()]

    assert len(codes) == len(set(codes)) == len(ALL_KINDS)


def test_a_code_is_words_in_lower_case_and_every_text_is_there() -> None:
    assert [k.code for k in ALL_KINDS if not re.fullmatch("[a-z0-9]+(-[a-z0-9]+)+", k.code)] == []
    assert [k.code for k in ALL_KINDS if not (k.title and k.remedy and k.source)] == []


def test_the_service_tells_every_kind_without_a_key(stranger: httpx.Client) -> None:
    told = stranger.get("/v1/findings")

    assert told.status_code == 200
    assert msgspec.convert(told.json()["items"], tuple[Kind, ...]) == ALL_KINDS


def test_a_known_catalogue_is_not_sent_again(stranger: httpx.Client) -> None:
    tag = stranger.get("/v1/findings").headers["etag"]

    assert stranger.get("/v1/findings", headers={"If-None-Match": tag}).status_code == 304


def test_the_committed_page_is_the_generated_one(tmp_path: Path) -> None:
    written, contract = tmp_path / "findings.md", tmp_path / "v1.json"
    assert main(["openapi", "--findings", str(written), "--out", str(contract)], environ={}) == 0

    assert written.read_text(encoding="utf-8") == findings_page()
    assert COMMITTED.read_text(encoding="utf-8") == findings_page(), (
        "run: exchange-api openapi --findings openapi/findings.md"
    )


def test_the_page_has_a_line_for_each_kind_and_no_broken_cell() -> None:
    lines = [line for line in findings_page().splitlines() if line.startswith("| `")]

    assert [line.split("`")[1] for line in lines] == [kind.code for kind in ALL_KINDS]
    assert {line.count("|") for line in lines} == {6}
