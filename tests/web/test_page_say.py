"""Writing down from the browser with plain forms alone: acts, amounts, phrases, putting right."""

from __future__ import annotations

import re
from datetime import timedelta
from html import escape, unescape
from typing import TYPE_CHECKING, Any

import pytest
from page_checks import (
    HOSTILE,
    YESTERDAY,
    assert_clean,
    first_sentence,
    in_german,
    read,
    rename,
    text_of,
    token,
    write,
)

from boughwright.journal.events import (
    Event,
    GardenSet,
    LookAgain,
    Measured,
    Saw,
    Withdrawn,
    Worked,
    standing,
)
from boughwright.journal.terms import Sign, Work
from boughwright.usecases.taps import LIKELY, taps_for
from boughwright.web.pages.say import EXAMPLES, zones
from boughwright.web.speech_core import untold
from boughwright.web.state import StillWorking

if TYPE_CHECKING:
    from fastapi.testclient import TestClient
    from httpx2 import Response

    from boughwright.usecases.kept import KeptBook
    from boughwright.web.state import Bench

MAPLE = "ditch-field-maple"
HERE = f"/trees/{MAPLE}"


def bench_of(client: TestClient) -> Bench:
    found: Bench = client.app.state.bench  # type: ignore[attr-defined]
    return found


def kept_of(client: TestClient) -> KeptBook:
    return bench_of(client).kept


def counted(client: TestClient) -> list[Event]:
    return standing(kept_of(client).events(MAPLE))


def post(client: TestClient, path: str, **fields: Any) -> Response:
    headers = fields.pop("headers", {})
    data = {"csrf": token(client, "/say"), "tree": MAPLE, "back": HERE, **fields}
    return client.post(path, data=data, headers=headers)


def new(client: TestClient, before: list[Event]) -> list[Event]:
    known = {event.id for event in before}
    return [event for event in counted(client) if event.id not in known]


def form_with(page: str, wanted: str) -> dict[str, str]:
    """Return the fields of the form that has a button or a field with this text in it."""
    for form in re.findall(r"<form\b.*?</form>", page, re.S):
        if wanted in form:
            pairs = re.findall(r'<input[^>]*name="(\w+)"[^>]*value="([^"]*)"', form)
            return {name: unescape(value) for name, value in pairs if name != "way"}
    raise AssertionError(f"no form with {wanted}")


# --- the bar --------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", [HERE, f"{HERE}/branches/4r"])
def test_the_bar_has_the_five_likeliest_acts_and_the_way_to_all(
    reader: TestClient, path: str
) -> None:
    page = reader.get(path).text
    assert_clean(page)
    bar = page[page.index('class="acts-bar"') :]
    day = bench_of(reader).day().tree(MAPLE)
    row = -1 if path == HERE else day.tree.branches.ids.index("4r")
    taps = taps_for(day, row)[:LIKELY]
    # Each stands there as a button that ends the line or as what opens its amounts; then "More".
    acts = re.findall(r'class="tap( advised)?"', bar)
    assert len(acts) == LIKELY
    assert [bool(one) for one in acts] == [tap.advised for tap in taps]
    assert f'href="{HERE}/log?' in bar
    for tap in taps:
        phrases = [tap.phrase] if tap.phrase else [choice.phrase for choice in tap.choices]
        assert all(f'value="{escape(phrase)}"' in bar for phrase in phrases)


def test_the_bar_of_a_zone_says_the_zone(reader: TestClient) -> None:
    part = reader.get(f"{HERE}/log/acts?place=low").text
    assert_clean(part)
    assert 'value="low ok"' in part
    assert "<html" not in part
    whole = reader.get(f"{HERE}/log/acts").text
    assert 'value="all ok"' in whole


def test_every_place_has_its_page_of_acts_and_every_act_its_amounts(reader: TestClient) -> None:
    day = bench_of(reader).day().tree(MAPLE)
    tried: set[str] = set()
    queries = ["branch=4r", "branch=trunk", "branch=1l-1", "place=all", "place=2.5R", "place=low"]
    ids = {b.kind.value: day.tree.branches.ids[b.row] for b in day.branches}
    queries += [f"branch={id_}" for id_ in ids.values()]
    for query in dict.fromkeys(queries):
        page = reader.get(f"{HERE}/log?{query}").text
        assert_clean(page)
        assert first_sentence(page)
        keys = re.findall(r"&amp;act=(\w+)", page)
        assert keys
        for key in [key for key in keys if key not in tried]:
            tried.add(key)
            amounts = reader.get(f"{HERE}/log?{query}&act={key}")
            assert amounts.status_code == 200
            assert_clean(amounts.text)
            assert 'action="/say"' in amounts.text or "/facts#" in amounts.text
    assert {"cut", "wire_on", "wire_off", "let_run", "base", "open", "exit_entry", "feed"} <= tried
    for zone in zones():
        assert reader.get(f"{HERE}/log", params={"place": zone}).status_code == 200


@pytest.mark.parametrize(
    "query",
    ["branch=99L", "place=cellar", "branch=4r&act=fly", "place=2.5L", "branch=4r&act=notch"],
)
def test_what_is_not_there_is_said_to_be_missing(reader: TestClient, query: str) -> None:
    answer = reader.get(f"{HERE}/log?{query}")
    assert answer.status_code == 404
    assert reader.get(f"/trees/no-such/log?{query}").status_code == 404


# --- a whole round without scripts ----------------------------------------------------------------


def test_branch_act_amount_is_written_and_the_next_page_shows_a_new_verdict(
    client: TestClient,
) -> None:
    before = counted(client)
    listed = client.get(f"{HERE}/log?branch=4r").text  # the branch was the first tap
    assert "act=wire_off" in listed
    page = client.get(f"{HERE}/log?branch=4r&act=wire_off").text
    assert 'value="4R wire off bite 3"' in page
    fields = form_with(page, 'value="4R wire off bite 3"')
    sent = client.post("/say", data={**fields, "text": "4R wire off bite 3", "way": "unwound",
                                     "why": "it ran", "then": "look 10 d"})  # fmt: skip
    assert sent.status_code == 303
    off, look = (event.body for event in new(client, before))
    assert off == Worked(Work.WIRE_OFF, bite=3, method="unwound", because="it ran")
    assert look == LookAgain(bench_of(client).today + timedelta(days=10))

    said = client.get(sent.headers["location"]).text
    assert_clean(said)
    assert first_sentence(said) == "Written down for Ditch field maple."
    assert "4th right: wire off, bite 3, unwound, because it ran" in text_of(said)
    assert f'href="{HERE}"' in said
    row = r'data-name="4R">.*?class="word \w+">([^<]+)<'
    found = re.search(row, client.get(HERE).text, re.S)
    assert found is not None
    assert found[1] != "wire off"

    undo = form_with(said, 'action="/undo"')
    assert client.post("/undo", data=undo).status_code == 303
    assert counted(client) == before
    found = re.search(row, client.get(HERE).text, re.S)
    assert found is not None
    assert found[1] == "wire off"
    again = client.get(sent.headers["location"]).text
    assert first_sentence(again) == "This line is taken back."
    assert 'action="/undo"' not in again


def test_a_reading_is_taken_as_it_is_typed(client: TestClient) -> None:
    before = counted(client)
    page = client.get(f"{HERE}/log?branch=4r&act=base").text
    fields = form_with(page, 'name="number"')
    assert fields["text"] == "4R base __"
    assert client.post("/say", data={**fields, "number": "9,2"}).status_code == 303
    (event,) = new(client, before)
    assert isinstance(event.body, Measured)
    assert (event.branch, event.body.value) == ("4r", 9.2)
    refused = client.post("/say", data={**fields, "number": "fat"})
    assert refused.status_code == 422
    assert len(new(client, before)) == 1


def test_what_cannot_be_taken_is_said_at_the_box_with_what_was_typed(client: TestClient) -> None:
    before = counted(client)
    for text, tree, words in (
        ("", MAPLE, "The line is empty"),
        ("2R cut", "nosuch", "No tree is called"),
        ('2R "cut" <b>', "nosuch", "No tree is called"),
        ("x" * 700, MAPLE, "700 letters"),
        ("   ", MAPLE, "empty"),
    ):
        page = post(client, "/say", text=text, tree=tree)
        assert page.status_code == 422
        assert_clean(page.text)
        assert words in text_of(page.text)
        box = next(a for tag, a in read(page.text).elements if a.get("id") == "say-text")
        assert box["value"] == text[:600]
        assert box["aria-invalid"] == "true"
        assert box["aria-describedby"] == "say-fault"
    assert new(client, before) == []


def test_words_that_are_not_read_are_kept_and_said_so(client: TestClient) -> None:
    sent = post(client, "/say", text="2R wears <script>alert(1)</script> & hums")
    page = client.get(sent.headers["location"]).text
    assert_clean(page)
    assert "<script>alert" not in page
    assert "kept as a note" in text_of(page)
    assert "<script>alert(1)</script>" in text_of(page)


def test_a_hostile_name_stays_text_on_every_page_of_mine(client: TestClient) -> None:
    rename(bench_of(client).book, MAPLE)
    sent = post(client, "/say", text="2R cut")
    for path in ("/say", f"/say?tree={MAPLE}", f"{HERE}/log", f"{HERE}/log?branch=4r&act=cut",
                 f"{HERE}/log/acts?place=low", "/offline", sent.headers["location"]):  # fmt: skip
        page = client.get(path).text
        assert_clean(page)
        assert "<img src=x" not in page
        assert "<script>alert(2)" not in page
    assert HOSTILE in text_of(client.get("/say").text)


@pytest.mark.parametrize(
    "back", ["//evil.example", "https://evil.example", "/\\evil", "/x\n/y", ""]
)
def test_the_way_back_never_leaves_these_pages(client: TestClient, back: str) -> None:
    sent = post(client, "/say", text="2R cut", back=back)
    assert sent.headers["location"].endswith("?back=%2F")
    page = client.get(f"{sent.headers['location'].partition('?')[0]}", params={"back": back}).text
    assert "evil" not in page


def test_a_line_without_a_token_is_not_taken(client: TestClient) -> None:
    before = counted(client)
    for path in ("/say", "/undo", "/again"):
        assert client.post(path, data={"text": "2R cut", "tree": MAPLE}).status_code == 403
    assert new(client, before) == []


def test_sent_twice_under_its_id_it_is_written_once(client: TestClient) -> None:
    before = counted(client)
    own = "0198c1a0-0000-7000-8000-0000000000aa"
    for _ in range(2):
        assert (
            post(client, "/say", text="2R cut", id=own)
            .headers["location"]
            .startswith(f"/said/{own}")
        )
    assert len(new(client, before)) == 1
    other = post(client, "/say", text="3B cut", id=own)
    assert other.status_code == 422
    assert "was kept before" in text_of(other.text)


def test_a_part_of_a_page_gets_the_receipt_alone(client: TestClient) -> None:
    part = post(client, "/say", text="2R cut", headers={"HX-Request": "true"})
    assert part.status_code == 200
    assert "<html" not in part.text
    assert "2nd right: cut" in text_of(part.text)
    undone = client.post(
        "/undo", data=form_with(part.text, "/undo"), headers={"HX-Request": "true"}
    )
    assert "Taken back: 2nd right: cut" in text_of(undone.text)
    refused = post(client, "/say", text="2R cut", tree="nosuch", headers={"HX-Request": "true"})
    assert refused.status_code == 422
    assert "No tree is called" in text_of(refused.text)


# --- putting it right -----------------------------------------------------------------------------


def test_it_was_yesterday_and_not_on_that_one(client: TestClient) -> None:
    before, today = counted(client), bench_of(client).today
    page = client.get(post(client, "/say", text="2R, 3B cut to pair 1").headers["location"]).text
    moved = client.post("/say", data=form_with(page, "not 3B"))
    assert [event.branch for event in new(client, before)] == ["2r"]
    assert first_sentence(client.get(moved.headers["location"]).text).startswith("Taken back")
    page = client.get(post(client, "/say", text="4R pinch").headers["location"]).text
    client.post("/say", data=form_with(page, "that was yesterday"))
    pinched = [e for e in new(client, before) if e.branch == "4r"]
    assert [event.on for event in pinched] == [today - timedelta(days=1)]


def test_the_same_on_others_except_some(client: TestClient) -> None:
    before = counted(client)
    page = client.get(post(client, "/say", text="2R cut to pair 1").headers["location"]).text
    fields = form_with(page, 'action="/again"')
    fields = {k: v for k, v in fields.items() if k not in ("place", "spared")}
    sent = client.post("/again", data={**fields, "place": ["3B", "4R", "1L"], "spared": ["4R"]})
    assert sent.status_code == 303
    assert {event.branch for event in new(client, before)} == {"2r", "3b", "1l"}
    assert all(event.body == Worked(Work.CUT, to="pair 1") for event in new(client, before))
    none = client.post("/again", data=fields)
    assert none.status_code == 422
    assert "No branch is chosen" in text_of(none.text)


def test_the_last_lines_of_the_day_can_each_be_taken_back(client: TestClient) -> None:
    before = counted(client)
    empty = client.get("/say").text
    assert first_sentence(empty) == "Nothing is written down today."
    post(client, "/say", text="2R, 3B cut")
    post(client, "/say", text="4R weak")
    post(client, "/say", text="1L strong", tree="fan-maple")
    page = client.get("/say").text
    assert first_sentence(page) == "3 lines are written down today."
    rows = page[page.index('class="rows said-rows"') :]
    told = text_of(rows[: rows.index("</section>")])
    assert told.index("1st left: strong") < told.index("4th right: weak") < told.index("3rd back")
    first = next(f for f in re.findall(r"<form\b.*?</form>", rows, re.S) if "2nd right" in f)
    assert client.post("/undo", data=form_with(first, "moment")).status_code == 303
    left = new(client, before)
    assert [(event.branch, event.body) for event in left] == [("4r", Saw(Sign.WEAK))]
    assert first_sentence(client.get("/say").text) == "2 lines are written down today."
    # Without any line named, the last one goes.
    assert post(client, "/undo").status_code == 303
    assert counted(client) == before


def test_taking_back_twice_changes_nothing_more(client: TestClient) -> None:
    post(client, "/say", text="2R cut")
    page = client.get("/say").text
    fields = form_with(page, 'name="moment"')
    for _ in range(2):
        client.post("/undo", data=fields)
    back = [e for e in kept_of(client).events(MAPLE) if isinstance(e.body, Withdrawn)]
    assert len(back) == 1
    assert client.post("/undo", data={**fields, "tree": "nosuch"}).status_code == 404
    unknown = client.get("/said/0198c1a0-0000-7000-8000-0000000000ff")
    assert unknown.status_code == 404


# --- the page of the phrase, and no signal --------------------------------------------------------


def test_every_example_is_understood_on_every_tree(reader: TestClient) -> None:
    bench = bench_of(reader)
    kinds = len(EXAMPLES)
    for day in bench.day().trees:
        page = reader.get(f"/say?tree={day.tree.id}").text
        assert page.count('class="rows say-examples"') == kinds
        shown = [unescape(one) for one in re.findall(r'<strong lang="en">(.*?)</strong>', page)]
        assert len(shown) == sum(len(phrases) for _, phrases in EXAMPLES)
        for phrase in shown:
            query = {"tree": day.tree.id, "text": phrase}
            found = reader.get("/api/reading", params=query).json()
            assert (found["unread"], found["doubts"] == [] or phrase.startswith("same")) == (
                [],
                True,
            ), phrase


def test_an_example_goes_into_the_box(reader: TestClient) -> None:
    page = reader.get("/say", params={"tree": MAPLE, "text": "2R cut; 3B <i>"}).text
    fields = dict(read(page).elements)
    assert fields
    box = next(a for tag, a in read(page).elements if a.get("id") == "say-text")
    assert box["value"] == "2R cut; 3B <i>"
    options = [a for tag, a in read(page).elements if tag == "option" and "selected" in a]
    assert [one["value"] for one in options] == [MAPLE]


def test_what_the_scripts_look_for_is_there(reader: TestClient) -> None:
    for path in ("/say", "/offline"):
        elements = read(reader.get(path).text).elements
        marks = {name for _, attributes in elements for name in attributes}
        assert {"data-line", "data-phrase", "data-reading", "data-outbox-list", "data-can"} <= marks
        tokens = [a["content"] for tag, a in elements if tag == "meta" and a.get("name") == "csrf"]
        assert len(tokens) == 1
        assert tokens[0]


def test_the_page_for_no_signal_waits_for_nothing(
    reader: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = reader.get("/offline").text
    assert_clean(page)
    assert "Ditch field maple" in page
    bench = bench_of(reader)

    def busy() -> None:
        raise StillWorking

    monkeypatch.setattr(bench, "day", busy)
    early = reader.get("/offline")
    assert early.status_code == 200
    assert "data-line" in early.text
    assert "Ditch field maple" not in early.text


def test_german_pages_have_no_english_left(client: TestClient) -> None:
    in_german(bench_of(client).book)
    untold.clear()
    sent = post(client, "/say", text="2R cut to pair 1; 4R wire off bite 3 unwound look 10 d")
    paths = ["/say", f"/say?tree={MAPLE}", "/offline", sent.headers["location"],
             f"{HERE}/log/acts?place=low", f"{HERE}/log"]  # fmt: skip
    day = bench_of(client).day().tree(MAPLE)
    for branch in ("4r", "scar-front", "2.5lg", "trunk"):
        if branch in day.tree.branches.ids:
            keys = [tap.key for tap in taps_for(day, day.tree.branches.ids.index(branch))
                    if not tap.ends]  # fmt: skip
            paths += [f"{HERE}/log?branch={branch}&act={key}" for key in keys]
    for path in paths:
        page = client.get(path)
        assert page.status_code == 200, path
        assert 'lang="de"' in page.text or "<html" not in page.text
        assert "<span lang=en>" not in page.text, path
    assert untold == {}
    assert "Eingetragen für" in client.get(sent.headers["location"]).text
    refused = [
        post(client, "/say", text="x", tree="nosuch"),
        post(client, "/say", text=""),
        post(client, "/say", text="4R base __"),
        post(client, "/again"),
        client.get(f"{HERE}/log?place=cellar"),
        client.get(f"{HERE}/log?branch=99"),
        client.get(f"{HERE}/log?branch=4r&act=fly"),
        client.get("/said/0198c1a0-0000-7000-8000-0000000000ff"),
    ]
    assert [page.status_code for page in refused] == [422] * 4 + [404] * 4
    assert untold == {}


def test_in_inches_a_reading_is_asked_for_and_taken_in_inches(client: TestClient) -> None:
    write(bench_of(client).book, Event(GardenSet({"units": "in"}), YESTERDAY))
    before = counted(client)
    page = client.get(f"{HERE}/log?branch=4r&act=base").text
    assert 'data-units="in"' in page
    assert "Base, in" in text_of(page)
    client.post("/say", data={**form_with(page, 'name="number"'), "number": "0.4"})
    (event,) = new(client, before)
    assert isinstance(event.body, Measured)
    assert event.body.value == pytest.approx(10.16)
    chips = client.get(f"{HERE}/log?branch=4r&act=wire_on").text
    assert "0.06 in aluminium" in text_of(chips)  # 1.5 mm
