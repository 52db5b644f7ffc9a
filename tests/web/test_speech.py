"""Units, temperatures, days and page texts in the grower's own way."""

from __future__ import annotations

import html
import re
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boughwright.errors import UnknownNameError
from boughwright.journal.terms import Amount, Phase, Vigour, Work, Zone
from boughwright.season.stages import Stage
from boughwright.verdicts.verdict import Act, Harm, Sureness
from boughwright.web.speech import Speaker, Untold, page_texts
from boughwright.web.speech_core import untold

ENGLISH = Speaker()
GERMAN = Speaker(language="de")
IMPERIAL = Speaker(units="in", temperature="F", dates="month first")
# 18 June 2026 is a Thursday: 1 January 2026 is one, and 168 days, 24 weeks, lie between.
THURSDAY = date(2026, 6, 18)


def test_a_sentence_in_mm_keeps_its_decimals() -> None:
    assert (
        ENGLISH.say("Its base reaches {12.10 mm} of {16 mm}")
        == "Its base reaches 12.10 mm of 16 mm"
    )


def test_lengths_turn_to_inches() -> None:
    # 12.7 mm is half an inch exactly; 25.4 mm one inch.
    assert IMPERIAL.say("{12.7 mm} of {25.4 mm}") == "0.50 in of 1.00 in"
    assert IMPERIAL.length(50.8) == "2.00 in"
    assert IMPERIAL.length(None) == "?"
    assert GERMAN.length(12.1) == "12,1 mm"
    assert Speaker(units="in", language="de").length(12.7) == "0,50 in"


@pytest.mark.parametrize(
    ("said", "told"),
    [
        # A temperature: 33 x 1.8 + 32 = 91.4; 35 gives 95; -5 gives 23; 0 gives 32.
        ("It is over 33 °C", "It is over 91 °F"),
        ("Frost of -5 °C or less", "Frost of 23 °F or less"),
        ("from 10 to 20 °C", "from 50 to 68 °F"),
        ("between 0 and 7.2 °C", "between 32 and 45 °F"),
        # A difference: 1.5 x 1.8 = 2.7; 2 x 1.8 = 3.6; 5 x 1.8 = 9.
        ("the shelf is 1.5 °C warmer", "the shelf is 2.7 °F warmer"),
        ("nights are 5 °C colder", "nights are 9 °F colder"),
        ("lower by 2 °C", "lower by 4 °F"),
        # A sum of warmth is no temperature.
        ("after 120 °C d of warmth", "after 120 °C d of warmth"),
    ],
)
def test_temperatures_turn_to_fahrenheit(said: str, told: str) -> None:
    assert IMPERIAL.say(said) == told


def test_temperatures_alone() -> None:
    assert IMPERIAL.temp(35.0) == "95 °F"
    assert IMPERIAL.temp(5.0, step=True) == "9 °F"
    assert ENGLISH.temp(-3.5) == "-3.5 °C"
    assert GERMAN.temp(-3.5) == "-3,5 °C"
    assert ENGLISH.temp(None) == ENGLISH.temp(float("nan")) == "?"


@given(st.integers(min_value=-600, max_value=600))
def test_a_step_is_a_difference_of_two_temperatures(tenths: int) -> None:
    """Fahrenheit is 1.8 C + 32, so a difference is 1.8 of itself whatever it starts from."""
    step = tenths / 10.0
    told = float(IMPERIAL.temp(step, step=True).removesuffix(" °F"))
    assert told == pytest.approx(step * 1.8, abs=0.5001)


@pytest.mark.parametrize(
    ("speaker", "short", "long", "span"),
    [
        (ENGLISH, "Thu 18 June", "Thursday 18 June 2026", "18 to 24 June"),
        (IMPERIAL, "Thu June 18", "Thursday June 18 2026", "June 18 to 24"),
        (GERMAN, "Do 18. Juni", "Donnerstag, 18. Juni 2026", "18. bis 24. Juni"),
        (Speaker(dates="year first"), "Thu 2026-06-18", "Thursday 2026-06-18",
         "2026-06-18 to 2026-06-24"),
        # Month first is English alone.
        (Speaker(language="de", dates="month first"), "Do 18. Juni", "Donnerstag, 18. Juni 2026",
         "18. bis 24. Juni"),
    ],
)  # fmt: skip
def test_days(speaker: Speaker, short: str, long: str, span: str) -> None:
    assert speaker.day(THURSDAY) == short
    assert speaker.day_long(THURSDAY) == long
    assert speaker.range(THURSDAY, THURSDAY + timedelta(days=6)) == span


def test_spans_over_months_and_years() -> None:
    assert ENGLISH.range(date(2026, 6, 28), date(2026, 7, 3)) == "28 June to 3 July"
    assert GERMAN.range(date(2026, 6, 28), date(2026, 7, 3)) == "28. Juni bis 3. Juli"
    assert ENGLISH.range(THURSDAY, THURSDAY) == "18 June"
    told = Speaker(today=THURSDAY).range(date(2026, 12, 30), date(2027, 1, 2))
    assert told == "30 December 2026 to 2 January 2027"


def test_the_year_is_told_when_it_is_not_todays() -> None:
    now = Speaker(today=THURSDAY)
    assert now.day(THURSDAY) == "Thu 18 June"
    # 18 June 2027 is a Friday: a year of 365 days moves a weekday on by one.
    assert now.day(date(2027, 6, 18)) == "Fri 18 June 2027"
    assert now.day_short(date(2027, 6, 18)) == "18 June 2027"


@pytest.mark.parametrize(
    ("speaker", "told"),
    [
        (IMPERIAL, "off by June 24, seen on Thu June 18 2026"),
        (Speaker(dates="year first", today=THURSDAY), "off by 2026-06-24, seen on Thu 2026-06-18"),
        (ENGLISH, "off by 24 June, seen on Thu 18 June 2026"),
    ],
)
def test_days_within_sentences(speaker: Speaker, told: str) -> None:
    assert speaker.say("off by 24 June, seen on Thu 18 June 2026") == told


def test_a_day_without_a_year_is_the_nearest() -> None:
    """On 30 December a day in January is next year's, in November this year's."""
    now = Speaker(dates="year first", today=date(2026, 12, 30))
    assert now.say("from 5 January") == "from 2027-01-05"
    assert now.say("from 5 November") == "from 2026-11-05"


def test_bench_time() -> None:
    assert [ENGLISH.minutes(m) for m in (0.4, 3.4, 12, 49, 60, 71, 125)] == [
        "1 min", "3 min", "10 min", "50 min", "1 h", "1 h 10", "2 h 05",
    ]  # fmt: skip
    assert ENGLISH.hours(0) == "0 h"
    assert ENGLISH.hours(1.5) == "1 h 30"


def test_shares_never_round_onto_a_line() -> None:
    assert ENGLISH.percent(0.9496) == "94 %"
    assert ENGLISH.percent(0.95) == "95 %"
    assert ENGLISH.percent(None) == "?"


def test_numbers() -> None:
    assert GERMAN.number(1.5) == "1,5"
    assert ENGLISH.number(1.5) == "1.5"
    assert ENGLISH.number(1.25, 1) in {"1.2", "1.3"}
    assert ENGLISH.count(9999) == "9999"
    assert ENGLISH.count(12345) == "12\N{NARROW NO-BREAK SPACE}345"


def test_the_southern_half() -> None:
    south = Speaker(south=True)
    assert south.season(date(2026, 12, 1)) == "2026/27"
    assert south.season(date(2027, 6, 30)) == "2026/27"
    assert south.season(date(1999, 7, 1)) == "1999/00"
    assert ENGLISH.season(date(2026, 12, 1)) == "2026"
    assert (south.sunny_side, ENGLISH.sunny_side) == ("north", "south")
    assert (Speaker(south=True, language="de").sunny_side, GERMAN.sunny_side) == ("Norden", "Süden")


def test_words_of_closed_lists() -> None:
    """The same word is told by its list: leaves are hard, roots are cut hard, a leaf is hard."""
    assert GERMAN.word(Act.WIRE_OFF) == "Draht ab"
    assert GERMAN.word(Stage.HARD) == "ausgereift"
    assert GERMAN.word(Amount.HARD) == "stark"
    assert GERMAN.word(Stage.LATE_THICKENING) == "spätes Dickenwachstum"
    assert GERMAN.word(Phase.RAMIFICATION) == "Verzweigung"
    assert GERMAN.word(Zone.APEX) == "Wipfel"
    assert GERMAN.word(Vigour.STEADY) == "stabil"
    assert GERMAN.word(Sureness.LIKELY) == "wahrscheinlich"
    assert GERMAN.word(Harm.NONE) == "kein Schaden"
    assert GERMAN.word(Work.RIM) == "Wundrand"
    assert GERMAN.word("hard", "amount") == "stark"
    assert GERMAN.word("") == ""
    assert ENGLISH.word(Stage.LATE_THICKENING) == "late thickening"


def test_page_texts_take_values_and_plurals() -> None:
    assert ENGLISH.t("week.trees", n=1) == "1 tree"
    assert ENGLISH.t("week.trees", n=0) == "0 trees"
    assert GERMAN.t("week.trees", n=2) == "2 Bäume"
    assert GERMAN.t("when.by", day=THURSDAY) == "bis Do 18. Juni"
    with pytest.raises(KeyError):
        ENGLISH.t("no.such.text")
    with pytest.raises(KeyError):
        ENGLISH.t("when.by")


def test_a_hole_is_filled_once() -> None:
    """What a grower wrote is never read as a hole."""
    assert ENGLISH.t("when.by", day="{day} {n}") == "by {day} {n}"


def test_an_unknown_language_is_refused() -> None:
    with pytest.raises(UnknownNameError):
        Speaker(language="xx")


def test_what_has_no_words_comes_in_english_and_is_counted() -> None:
    said = "A sentence <nobody> put into {12.1 mm} words"
    told = GERMAN.say(said)
    assert isinstance(told, Untold)
    assert told == "A sentence <nobody> put into 12.1 mm words"
    assert untold[said] == 1
    page = told.__html__()
    assert page == f"<span lang=en>{html.escape(told)}</span>"
    assert '"' not in page
    assert "'" not in page.replace("&#x27;", "")


@given(st.text(max_size=60))
def test_nothing_a_grower_writes_is_lost(text: str) -> None:
    """In English without lengths, days or degrees a text is what it was; German loses none."""
    if not any(mark in text for mark in ("{", "°")):
        assert ENGLISH.say(text) == text
    assert str(GERMAN.say(text)) or not text


def test_speakers_that_say_the_same_are_one() -> None:
    assert Speaker(language="de") == Speaker(language="de")
    assert hash(Speaker(language="de")) == hash(Speaker(language="de"))


def test_every_page_text_can_be_said() -> None:
    """Each text fills from its own holes, in both languages, with no hole left."""
    for speaker in (ENGLISH, GERMAN):
        for key, text in page_texts(speaker.language).items():
            forms = [text] if isinstance(text, str) else list(text.values())
            names = {n for form in forms for n in _holes(form)} | {"n"}
            for n in (1, 2):
                told = speaker.t(key, **{name: n if name == "n" else "x" for name in names})
                assert told, key
                assert "{" not in told, key


def _holes(text: str) -> list[str]:
    return re.findall(r"\{([a-z]\w*)\}", text)
