"""The requests of the plain HTTP example, read as an editor reads them and sent in their order."""

import json
import re
from typing import Any

import httpx
import pytest

from tests.end_to_end.conftest import EXAMPLES, Served

TEXT = (EXAMPLES / "http" / "whole_run.http").read_text(encoding="utf-8")
TITLE = re.compile(r"^### (.+)$", re.MULTILINE)
NAME = re.compile(r"^# @name (\w+)$", re.MULTILINE)
VARIABLE = re.compile(r"^@(\w+) = (.+)$", re.MULTILINE)
PLACE = re.compile(r"\{\{(.+?)\}\}")


class Editor:
    """What an editor knows: the variables of the file and the answers so far."""

    def __init__(self, **variables: str) -> None:
        self.variables = dict(VARIABLE.findall(TEXT)) | variables
        self.answers: dict[str, httpx.Response] = {}

    def value(self, place: re.Match[str]) -> str:
        name, _, path = place[1].partition(".response.")
        if not path:
            return str(self.variables[name])
        part, _, field = path.partition(".")
        answer = self.answers[name]
        return str(answer.headers[field]) if part == "headers" else self._member(answer, field)

    def _member(self, answer: httpx.Response, path: str) -> str:
        found: Any = answer.json()
        for name in path.removeprefix("$.").split("."):
            found = found[name]
        return str(found)

    def send(self, client: httpx.Client, block: str) -> httpx.Response:
        """Send one request of the file."""
        told = "\n".join(line for line in block.splitlines() if not line.startswith("#"))
        head, _, body = PLACE.sub(self.value, told).strip().partition("\n\n")
        (method, url), headers = head.splitlines()[0].split(), head.splitlines()[1:]
        named = {name: value for name, _, value in (line.partition(": ") for line in headers)}
        answer = client.request(method, url, headers=named, content=body or None)
        for name in NAME.findall(block):
            self.answers[name] = answer
        return answer


@pytest.fixture(scope="module")
def answers(served: Served) -> dict[str, httpx.Response]:
    """The answer to each request by its title."""
    editor = Editor(url=served.url, key=served.keys["Invented workshop Birch"])
    _, *parts = TITLE.split(TEXT)
    with httpx.Client() as client:
        return {
            title: editor.send(client, block)
            for title, block in zip(parts[::2], parts[1::2], strict=True)
        }


def test_every_request_is_answered(answers: dict[str, httpx.Response]) -> None:
    assert [answer.status_code for answer in answers.values()] == [
        200, 200, 200, 201, 201, 200, 200, 200, 200, 200,
    ]  # fmt: skip


def test_the_answers_are_what_their_titles_promise(answers: dict[str, httpx.Response]) -> None:
    told = {title.split()[0] + " " + title.split()[1]: answer for title, answer in answers.items()}

    assert told["How much"].json()["plug_flow"] == pytest.approx(8 / 9)
    assert told["Make a"].json()["route"] == "pan_and_filter_then_line"
    assert {item["outcome"] for item in told["Post what"].json()["items"]} == {"stored"}
    assert told["What is"].json()["next_step"]["kind"] == "arrival_check"
    assert told["Close it"].json()["verdict"] == "incomplete"
    assert told["The record,"].text.startswith("<!doctype html>")


def test_the_bodies_are_plain_json() -> None:
    bodies = re.findall(r"^\{\n.*?^\}$", TEXT, re.MULTILINE | re.DOTALL)

    assert len(bodies) == 3
    assert all(isinstance(json.loads(body), dict) for body in bodies)
