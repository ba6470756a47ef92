"""The sheet's HTML: what is printed, how firmly, and that text stays text."""

import re
from dataclasses import fields, is_dataclass, replace

import pytest
from jinja2 import StrictUndefined, UndefinedError

from kerfdocket.planning.model import (
    Assumed,
    Caution,
    Finding,
    Plan,
    Protection,
    StageResult,
    Step,
    SupplyLine,
)
from kerfdocket.quantity import GAUGE_PRESSURE, SPEED, TEMPERATURE
from kerfdocket.resources import data_dir
from kerfdocket.sheet import sheet_html
from kerfdocket.sheet.context import traveller_context
from kerfdocket.sheet.templates import templates
from sheet.hand_plan import (
    estimate,
    hand_job,
    hand_plan,
    stop,
    with_estimate,
    with_findings,
)

NASTY = (
    "<b>x</b> & <script>alert(1)</script>",
    "{{ 7 * 7 }} {% include 'shared/base.css' %} {# gone #}",
    "\" onmouseover='x' `~\\",
    "bell \x07 escape \x1b[31m nul \x00 turn \u202e end",
    "</style></td></table><style>@import url(https://example.org/x.css);",
    "url(file:///etc/hostname) ]]> &amp; &#60;",
)


def _text(html: str) -> str:
    import html as entities

    plain = re.sub(r"<(script|style).*?</\1>|<[^>]+>", " ", html, flags=re.DOTALL)
    return re.sub(r"\s+", " ", entities.unescape(plain))


def _large_numbers(html: str) -> list[str]:
    return re.findall(r'class="number[^"]*">([^<]*)<', html)


def test_shows_what_the_job_states() -> None:
    text = _text(sheet_html(hand_plan()))
    for stated in (
        "TEST-001",
        "Invented plates",
        "Nobody's bay",
        "ZZ-01 rev A",
        "Test bench",
        "2026-11-25",
        "Keep the offcuts wider than 200 mm.",
        "12 mm S355J2",
        "12.1 mm (12.0–12.2), 4 readings",
        "3000 mm × 1500 mm",
        "6.3 mm bore, 10 m long",
        "P1 opening",
        "1600 mm",
        "15 °C, 1 bar",
    ):
        assert stated in text


def test_firm_values_are_large_and_unverified_ones_are_not() -> None:
    html = sheet_html(hand_plan())
    large = _large_numbers(html)
    assert {"1.8", "1.7", "0.17", "0.15", "370"} <= set(large)
    # heating oxygen 0.35 bar and kerf 1.8 mm are from memory
    assert "0.35" not in large
    assert large.count("1.8") == 1
    text = _text(html)
    assert "guide 0.21–0.49 bar, unverified" in text
    assert "guide 1.4–2.2 mm, unverified" in text
    assert "0.35" not in text


@pytest.mark.parametrize("trust", ["from memory", "common practice, no source"])
@pytest.mark.parametrize(
    ("key", "kind", "unit"),
    [
        ("line.oxygen_regulator_pressure", GAUGE_PRESSURE, "bar"),
        ("setting.cutting_oxygen_pressure", GAUGE_PRESSURE, "bar"),
        ("setting.fuel_pressure", GAUGE_PRESSURE, "bar"),
        ("cut.speed", SPEED, "mm/min"),
    ],
)
def test_no_unverified_setting_is_an_instruction(trust, key, kind, unit) -> None:
    plan = with_estimate(hand_plan(), estimate(key, "Any", kind, unit, 7.77, 0.5, trust))
    html = sheet_html(plan)
    assert not {"7.8", "7.77", "10"} & set(_large_numbers(html))
    assert "unverified" in html
    assert "From the nozzle’s chart" in html


def test_stated_values_say_so() -> None:
    html = sheet_html(hand_plan())
    block = html[html.index(">0.15<") :][:300]
    assert "as stated by the planner" in block


def test_a_withheld_value_is_a_dash_with_its_reason() -> None:
    reason = "no row of the table covers this"
    key = "setting.cutting_oxygen_pressure"
    plan = with_estimate(
        hand_plan(), estimate(key, "Any", GAUGE_PRESSURE, "bar", None, reason=reason)
    )
    text = _text(sheet_html(plan))
    assert "— 1" in text
    assert f"Torch, cutting oxygen: {reason}" in text
    assert "Preheat: no preheat rule that was read covers this grade and thickness" in text


def test_below_zero_a_range_is_not_a_row_of_dashes() -> None:
    warm = estimate("steel.preheat", "Preheat", TEMPERATURE, "°C", -10.0, 0.5)
    assert "−10 °C (−15 to −5)" in _text(sheet_html(with_estimate(hand_plan(), warm)))


def test_every_step_caution_and_assumption_is_printed() -> None:
    plan = hand_plan()
    text = _text(sheet_html(plan))
    for step in plan.steps:
        assert step.group in text
        assert step.text in text
    for caution in plan.cautions:
        assert caution.title in text
        assert caution.what_to_do in text
    for protection in plan.protections:
        assert protection.item in text
    assert "Not stated, assumed: Oxygen hoses 1 · Left in the cylinder 10 bar" in text
    for finding in plan.findings:
        assert finding.text in text
    assert "Invented Handbook, table 3" in text
    assert text.index("The fuel arrestor's greatest flow") < text.index("What to set")


def _cautions(count: int, *at_once: str) -> tuple[Caution, ...]:
    keys = [*at_once, *(f"other-{n}" for n in range(count - len(at_once)))]
    return tuple(
        Caution(
            key,
            "caution",
            f"Title of {key}",
            f"What {key} does to a person is told in this sentence of some length.",
            f"What to do about {key} is told in this other sentence, no shorter.",
            f"Leaflet on {key}",
            "published",
        )
        for key in keys
    )


def test_few_cautions_are_printed_whole_with_their_sources() -> None:
    plan = replace(hand_plan(), cautions=_cautions(4))
    text = _text(sheet_html(plan))
    for one in plan.cautions:
        assert f"{one.title}. {one.text} {one.what_to_do}" in text
        assert one.source in text


def test_many_cautions_keep_every_title_and_first_what_to_do() -> None:
    plan = replace(hand_plan(), cautions=_cautions(40))
    back = traveller_context(plan).back
    text = _text(sheet_html(plan))
    assert all(one.title in text for one in plan.cautions)
    whole = [one for one in plan.cautions if one.what_to_do in text]
    assert whole == list(plan.cautions[: len(whole)])  # the worst ones, in the plan's order
    assert len(whole) == len(back.cautions)
    assert 0 < len(whole) < 40
    assert f"Beware also: {plan.cautions[len(whole)].title}" in text


def test_what_to_do_at_once_is_always_whole() -> None:
    keys = ("flashback", "backfire", "acetylene-hot")
    plan = replace(hand_plan(), cautions=_cautions(150, *keys))
    back = traveller_context(plan).back
    assert back.is_tight
    assert [one.title for one in back.emergencies] == [f"Title of {key}" for key in keys]
    text = _text(sheet_html(plan))
    assert text.index("At once") < text.index("What to do about flashback") < text.index("Beware")


def test_joined_sources_are_named_once_each() -> None:
    plan = hand_plan()
    sources = {
        "cut.speed": "Office; State, rule 5, fire",
        "cut.length": "Not named, as it is stated",
        "nozzle.bore": "Book, Part 1, p. 2; Book, Part 1, p. 9; Book, Part 1, p. 2",
    }
    for key, source in sources.items():
        one = plan.estimates[key]
        plan = with_estimate(plan, replace(one, basis=replace(one.basis, source=source)))
    lines = traveller_context(plan).back.sources
    named = [one.source for one in lines]
    assert "Office; State, rule 5, fire" in named
    assert "Book, Part 1, p. 2" in named
    assert "p. 9" in named
    assert not any("Not named" in one for one in named)


def test_one_oxygen_hose_or_two() -> None:
    one, two = hand_plan(), hand_plan()
    job = two.job.model_copy(update={"torch": two.job.torch.model_copy(update={"oxygen_hoses": 2})})
    assert "Same hose and regulator as the cutting oxygen" in sheet_html(one)
    own = estimate("line.heating_oxygen_regulator_pressure", "Heating", GAUGE_PRESSURE, "bar", 3.7)
    stages = (*two.stages, StageResult("heating line", (own,)))
    html = sheet_html(replace(two, job=job, stages=stages))
    assert "Same hose and regulator" not in html
    assert '<span class="number">3.7</span>' in html
    assert "heating oxygen: fitted" in html


def test_no_parts_and_no_readings_leave_room_to_write() -> None:
    plan = hand_plan()
    job = plan.job.model_copy(
        update={
            "parts": (),
            "plate": plan.job.plate.model_copy(update={"readings": ()}),
            "prices": plan.job.prices.model_copy(update={"hour": 60.0}),
        }
    )
    text = _text(sheet_html(replace(plan, job=job)))
    assert "No parts are listed" in text
    assert "Measure it, mm" in text
    assert "Cost guide 63–117 EUR, unverified" in text


def test_a_stopped_plan_is_a_draft_and_is_not_signed() -> None:
    good, draft = hand_plan(), with_findings(hand_plan(), stop())
    html = sheet_html(draft)
    text = _text(html)
    assert "NOT FOR CUTTING" in text
    assert text.index(stop().text) < text.index("What to fit")
    assert stop().remedy in text
    assert "A draft is not signed." in text
    assert "Signature" not in text
    assert "draft.css" in html
    plain = _text(sheet_html(good))
    assert "NOT FOR" not in plain
    assert "draft" not in plain.lower()
    assert plain.count("Signature") == 2


def test_both_statements_are_there() -> None:
    text = _text(sheet_html(hand_plan()))
    assert "The nozzle maker’s own chart comes first" in text
    assert (
        "Local rules, the equipment makers’ instructions and qualified people come before" in text
    )


def _nasty_plan(nasty: str) -> Plan:
    job = hand_job()
    about = job.about.model_copy(
        update=dict.fromkeys(
            ("number", "title", "customer", "drawing", "prepared_by", "note"), nasty
        )
    )
    plate = job.plate.model_copy(update={"grade": nasty})
    parts = tuple(part.model_copy(update={"name": nasty}) for part in job.parts)
    job = job.model_copy(update={"about": about, "plate": plate, "parts": parts})
    plan = hand_plan(job)
    content = plan.supplies[0].content
    plan = replace(
        plan,
        nozzle_name=nasty,
        nozzle_text=nasty,
        supplies=(SupplyLine("oxygen", 1, nasty, content, True),),
        cautions=(Caution("k", "caution", nasty, nasty, nasty, nasty, "published"),),
        protections=(Protection(nasty, nasty, nasty, "published"),),
        steps=(Step(nasty, nasty, nasty),),
        assumed=(Assumed("x", nasty, nasty),),
        program_version=nasty,
    )
    return with_findings(plan, Finding("stop", "x", nasty, nasty, nasty))


@pytest.mark.parametrize("nasty", NASTY)
def test_markup_template_syntax_and_controls_come_out_as_text(nasty: str) -> None:
    html = sheet_html(_nasty_plan(nasty))
    quiet = sheet_html(_nasty_plan("quiet"))
    # the same elements as with harmless text: nothing that was typed became markup
    tags = re.compile(r"</?[a-zA-Z][a-zA-Z0-9]*")
    assert tags.findall(html) == tags.findall(quiet)
    assert not re.search("[\x00-\x09\x0b-\x1f\x7f\u202a-\u202e]", html)
    assert "49" not in _text(html).replace("0.49", "").replace("0.49", "")
    import html as entities

    shown = re.sub("[\x00-\x1f\u202e]", "\ufffd", nasty)
    assert entities.unescape(html).count(shown) >= 15


def _strings(thing: object, seen: list[str]) -> None:
    if isinstance(thing, str):
        seen.append(thing)
    elif is_dataclass(thing):
        for one in fields(thing):
            _strings(getattr(thing, one.name), seen)
    elif isinstance(thing, tuple):
        for one in thing:
            _strings(one, seen)
    else:
        assert thing is None or isinstance(thing, bool)


def test_the_context_is_frozen_and_holds_ready_text_only() -> None:
    context = traveller_context(hand_plan())
    seen: list[str] = []
    _strings(context, seen)
    assert len(seen) > 200
    with pytest.raises(AttributeError):
        context.number = "other"  # type: ignore[misc]
    assert hash(context) == hash(traveller_context(hand_plan()))


def test_a_plan_that_lacks_a_value_is_an_error_not_an_empty_cell() -> None:
    plan = hand_plan()
    stages = tuple(
        replace(stage, estimates=tuple(e for e in stage.estimates if e.key != "cut.speed"))
        for stage in plan.stages
    )
    with pytest.raises(KeyError, match=r"cut\.speed"):
        sheet_html(replace(plan, stages=stages))


def test_templates_are_strict_escaped_and_sandboxed() -> None:
    environment = templates()
    assert environment.undefined is StrictUndefined
    assert environment.autoescape is True
    with pytest.raises(UndefinedError):
        environment.from_string("{{ sheet.nothing }}").render(sheet=traveller_context(hand_plan()))
    with pytest.raises(UndefinedError):
        environment.from_string("{{ missing }}").render()
    with pytest.raises(Exception, match="unsafe"):
        environment.from_string("{{ ''.__class__.__mro__ }}").render()


def test_templates_do_no_arithmetic() -> None:
    from jinja2 import nodes

    environment = templates()
    arithmetic = (nodes.Add, nodes.Sub, nodes.Mul, nodes.Div, nodes.FloorDiv, nodes.Mod, nodes.Pow)
    folder = data_dir("sheet_templates")
    paths = sorted(folder.rglob("*.j2"))
    assert len(paths) >= 2
    for path in paths:
        tree = environment.parse(path.read_text(encoding="utf-8"))
        assert not list(tree.find_all(arithmetic)), path
        assert not list(tree.find_all(nodes.Filter)), path
