"""Jobs put together: the order against all orders, the sums, one cylinder for several jobs."""

import csv
import gc
import io
import math
import weakref
from itertools import pairwise, permutations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs import SAMPLES, make_job
from kerfdocket.job import load_job
from kerfdocket.language import PSEUDO, speaking
from kerfdocket.planning import make_plan
from kerfdocket.planning.pack import (
    count_changes,
    make_pack,
    pick_list_csv,
    places_text,
    proposed_order,
)
from kerfdocket.planning.pack.order import SetUp
from kerfdocket.planning.pack.pick_list import PICK_LIST_COLUMNS
from kerfdocket.reference import load_reference

REFERENCE = load_reference()
PARTS = [{"name": "P1", "count": 10, "cut_length": "2 m"}]
FULL = {"weight_now": "63 kg", "weight_empty": "55 kg", "full_content": "8 kg"}
# Nothing says how long an edge start of so thick a plate takes: time and gas are withheld.
THICK = {"plate__thickness": "300 mm"}
STAINLESS = {"plate__grade": "1.4301"}


def plan(number="T-1", **changes):
    return make_plan(make_job(about__number=number, **{"parts": PARTS, **changes}), REFERENCE)


def oxygen(count=1, gauge="200 bar", **more):
    return [{"count": count, "gauge": gauge, **more}]


def all_samples():
    return [make_plan(load_job(path), REFERENCE) for path in sorted(SAMPLES.glob("*.toml"))]


def fetch_of(pack, gas):
    [found] = [fetch for fetch in pack.cylinders if fetch.kind.gas == gas]
    return found


def used_kg(one, key="use.oxygen"):
    return one.estimates[key].value_si


set_ups = st.lists(
    st.builds(
        SetUp, st.sampled_from("apn"), st.sampled_from(["hand", "machine"]), st.sampled_from("123")
    ),
    max_size=6,
)


class TestOrder:
    @given(set_ups)
    def test_no_order_changes_less(self, jobs):
        order = proposed_order(jobs)
        assert sorted(order) == list(range(len(jobs)))
        ours = count_changes([jobs[index] for index in order])
        # The gas first, the nozzle second, as tuples compare.
        assert ours == min(count_changes(one) for one in permutations(jobs))

    @given(set_ups)
    def test_what_is_alike_stays_as_given(self, jobs):
        order = proposed_order(jobs)
        for set_up in set(jobs):
            alike = [index for index in order if jobs[index] == set_up]
            assert alike == sorted(alike)
        if jobs:
            assert order[0] == 0

    def test_a_nozzle_is_another_in_another_torch(self):
        hand, machine = SetUp("a", "hand", "1.2"), SetUp("a", "machine", "1.2")
        assert count_changes([hand, machine, machine]) == (0, 1)

    def test_the_samples(self):
        pack = make_pack(all_samples())
        assert (pack.changes.gas, pack.changes.nozzle) < (
            pack.changes_as_given.gas,
            pack.changes_as_given.nozzle,
        )
        fuels = [job.fuel for job in pack.to_cut]
        assert sum(a != b for a, b in pairwise(fuels)) == pack.changes.gas
        assert [job.place for job in pack.jobs] == list(range(1, len(pack.jobs) + 1))
        assert sorted(job.given for job in pack.jobs) == list(range(len(pack.jobs)))


class TestSums:
    def test_they_are_the_sums_of_the_plans(self):
        plans = all_samples()
        cut = [one for one in plans if not one.is_stopped]
        assert 0 < len(cut) < len(plans)
        pack = make_pack(plans)
        assert {gas.gas for gas in pack.gases} == {"oxygen", "acetylene", "propane", "natural gas"}
        for gas in pack.gases:
            key = "use.oxygen" if gas.gas == "oxygen" else "use.fuel"
            parts = [
                one.estimates[key]
                for one in cut
                if gas.gas == "oxygen" or one.job.fuel.gas == gas.gas
            ]
            assert len(gas.jobs) == len(parts)
            for end in ("value_si", "low_si", "high_si"):
                expected = math.fsum(getattr(part, end) for part in parts)
                assert getattr(gas.total.estimate, end) == pytest.approx(expected, rel=1e-12)
            if gas.by_weight is not None:
                assert gas.by_weight.estimate.value == pytest.approx(gas.total.estimate.value_si)
            assert not gas.total.is_at_least
        for total, key in (
            (pack.flame_time, "cut.flame_time"),
            (pack.clock_time, "cut.clock_time"),
        ):
            expected = math.fsum(one.estimates[key].value_si for one in cut)
            assert total.estimate.value_si == pytest.approx(expected, rel=1e-12)

    def test_a_sum_stands_no_firmer_than_its_weakest_part(self):
        pack = make_pack([plan(), plan()])
        weakest = plan().estimates["use.oxygen"].basis.trust
        assert pack.gases[0].total.estimate.basis.trust == weakest
        assert "widest" in pack.gases[0].total.estimate.basis.text

    def test_a_withheld_part_is_named(self):
        known, unknown = plan("T-1"), plan("T-2", **THICK)
        assert unknown.estimates["use.oxygen"].is_withheld
        assert not unknown.is_stopped
        pack = make_pack([unknown, known])
        places = [job.place for job in pack.jobs if job.number == "T-2"]
        for gas in pack.gases:
            assert gas.total.is_at_least
            assert [one.place for one in gas.total.without] == places
            assert "withheld" in gas.total.without[0].reason
        assert pack.gases[0].total.estimate.value_si == pytest.approx(used_kg(known))
        assert [one.place for one in pack.clock_time.without] == places
        assert fetch_of(pack, "oxygen").takes.is_at_least

    def test_where_nothing_is_known_the_sum_is_withheld(self):
        pack = make_pack([plan(**THICK)])
        assert pack.gases[0].total.estimate.is_withheld
        assert fetch_of(pack, "oxygen").needed.is_withheld
        assert fetch_of(pack, "oxygen").fetch.is_withheld

    def test_drafts_come_last_and_count_nowhere(self):
        draft, good = plan("T-1", **STAINLESS), plan("T-2")
        pack = make_pack([draft, good, good])
        assert [(job.number, job.is_draft) for job in pack.jobs] == [
            ("T-2", False),
            ("T-2", False),
            ("T-1", True),
        ]
        assert pack.drafts[0].stops
        assert pack.gases[0].total.estimate.value_si == pytest.approx(2 * used_kg(good))
        assert pack.gases[0].jobs == (1, 2)

    def test_drafts_alone_take_nothing(self):
        pack = make_pack([plan(**STAINLESS)])
        assert (pack.gases, pack.cylinders, pack.nozzles, pack.to_cut) == ((), (), (), ())
        assert pack.clock_time.estimate.is_withheld

    def test_an_empty_pack_is_refused(self):
        with pytest.raises(ValueError, match="at least one"):
            make_pack([])

    def test_plans_are_not_kept(self):
        seen = []

        def one_by_one():
            for number in range(4):
                made = plan(f"T-{number}")
                seen.append(weakref.ref(made))
                yield made
                del made
                gc.collect()
                assert sum(ref() is not None for ref in seen) <= 1

        assert len(make_pack(one_by_one()).jobs) == 4


class TestCylinders:
    def test_one_serves_several_jobs(self):
        own = plan(oxygen__cylinders=oxygen())
        need_kg = used_kg(own)
        holds_kg = own.supplies[0].content.value_si
        assert need_kg < 0.5 * holds_kg
        jobs = int(0.9 * holds_kg / need_kg)
        assert jobs >= 2
        fetch = fetch_of(make_pack([own] * jobs), "oxygen")
        assert own.estimates["supply.oxygen_cylinders"].value == 1.0
        assert fetch.needed.value == 1.0  # and not one for each
        assert fetch.fetch.value == 0.0
        more = fetch_of(make_pack([own] * (2 * jobs + 1)), "oxygen")
        assert more.needed.value == math.ceil((2 * jobs + 1) * need_kg / holds_kg)
        assert more.fetch.value == more.needed.value - 1

    @given(st.lists(st.integers(1, 60), min_size=1, max_size=5), st.integers(1, 3))
    def test_between_the_greatest_and_the_sum_of_the_jobs(self, counts, on_hand):
        plans = [
            plan(
                parts=[{"name": "P", "count": count, "cut_length": "20 m"}],
                oxygen__cylinders=oxygen(on_hand),
            )
            for count in counts
        ]
        own = [one.estimates["supply.oxygen_cylinders"] for one in plans]
        fetch = fetch_of(make_pack(plans), "oxygen")
        for end in ("low_si", "value_si", "high_si"):
            needed = getattr(fetch.needed, end)
            assert max(getattr(one, end) for one in own) <= needed
            assert needed <= sum(getattr(one, end) for one in own)
        assert fetch.on_hand == on_hand
        # Alike ones: what is short is what is needed less what is there.
        assert fetch.fetch.value == max(fetch.needed.value - on_hand, 0.0)

    def test_what_several_jobs_state_is_counted_once(self):
        few, many = oxygen(1, "150 bar"), oxygen(3, "150 bar")
        pack = make_pack([plan(oxygen__cylinders=few), plan(oxygen__cylinders=many)])
        fetch = fetch_of(pack, "oxygen")
        content = plan(oxygen__cylinders=many).estimates["supply.oxygen_available"]
        assert fetch.on_hand == 3
        assert fetch.available.value_si == pytest.approx(content.value_si)

    def test_it_counts_as_the_fullest_that_is_stated(self):
        pack = make_pack(
            [
                plan(oxygen__cylinders=oxygen(1, "60 bar")),
                plan(oxygen__cylinders=oxygen(1, "180 bar")),
            ]
        )
        full = plan(oxygen__cylinders=oxygen(1, "180 bar")).supplies[0].content
        assert fetch_of(pack, "oxygen").one.value_si == pytest.approx(full.value_si)

    def test_kinds_are_kept_apart(self):
        pack = make_pack(
            [
                plan(oxygen__cylinders=oxygen()),
                plan(oxygen__cylinders=oxygen(coupled=12)),
                plan(oxygen__cylinders=oxygen(capacity="20 L")),
            ]
        )
        found = {(f.kind.size_si, f.kind.coupled): f.jobs for f in pack.cylinders}
        assert found[0.05, 1] == (1,)
        assert found[0.05, 12] == (2,)
        assert found[0.02, 1] == (3,)

    def test_a_second_kind_on_hand_helps_the_job_that_states_it(self):
        two = [*oxygen(1, "200 bar"), *oxygen(1, "200 bar", capacity="10 L")]
        one = plan(oxygen__cylinders=two)
        fetch = fetch_of(make_pack([one, one]), "oxygen")
        assert fetch.kind.size_si == pytest.approx(0.05)
        assert fetch.on_hand == 2
        assert fetch.available.value_si == pytest.approx(
            one.estimates["supply.oxygen_available"].value_si
        )

    def test_an_assumed_cylinder_is_not_there(self):
        pack = make_pack([plan()])
        fetch = fetch_of(pack, "oxygen")
        assert plan().supplies[0].is_assumed
        assert (fetch.on_hand, fetch.fetch.value) == (0, 1.0)
        assert "states no cylinder" in fetch.notes[0]

    def test_who_states_none_takes_from_what_the_others_take_from(self):
        with_one = plan(oxygen__cylinders=oxygen(capacity="20 L"), fuel__cylinders=[FULL])
        pack = make_pack([plan(), with_one])
        for gas in ("oxygen", "acetylene"):
            fetch = fetch_of(pack, gas)
            assert fetch.jobs == (1, 2)
            assert "Job 1 states no cylinder" in fetch.notes[0]
        assert fetch_of(pack, "oxygen").kind.size_si == pytest.approx(0.02)

    def test_without_any_fuel_cylinder_the_number_is_withheld(self):
        fetch = fetch_of(make_pack([plan()]), "acetylene")
        assert fetch.fetch.is_withheld
        assert "no acetylene cylinder" in fetch.fetch.basis.text
        assert fetch.takes.estimate.value_si == pytest.approx(used_kg(plan(), "use.fuel"))

    def test_a_content_that_cannot_be_told_is_said(self):
        cold = plan(site__temperature="-25 °C", oxygen__cylinders=oxygen())
        fetch = fetch_of(make_pack([cold]), "oxygen")
        assert fetch.fetch.is_withheld
        assert any("outside" in note for note in fetch.notes)

    def test_acetylene_is_not_emptied(self):
        one = plan(fuel__cylinders=[FULL])
        need_kg, holds_kg = used_kg(one, "use.fuel"), 8.0 * 0.9  # the cover says: a tenth stays
        jobs = math.ceil(7.6 / need_kg)  # more than may be taken, less than it holds
        assert holds_kg < jobs * need_kg < 8.0
        fetch = fetch_of(make_pack([one] * jobs), "acetylene")
        assert fetch.is_full
        assert fetch.one.value_si == pytest.approx(holds_kg)
        assert (fetch.needed.value, fetch.fetch.value) == (2.0, 1.0)

    def test_as_many_as_must_be_open_at_once(self):
        winter = make_plan(load_job(SAMPLES / "winter-yard-30mm.toml"), REFERENCE)
        beside = winter.estimates["supply.fuel_side_by_side"]
        assert beside.value > 2.0
        small = plan(fuel__gas="propane", fuel__cylinders=[{
            "weight_now": "22 kg", "weight_empty": "11 kg", "full_content": "11 kg"}])  # fmt: skip
        fetch = fetch_of(make_pack([small, winter]), "propane")
        assert fetch.jobs == (1, 2)
        assert fetch.beside.value == beside.value
        assert fetch.needed.value >= beside.value
        assert fetch.fetch.value >= beside.value - fetch.on_hand

    def test_a_tank_is_counted_once_and_may_be_short(self):
        def from_tank(content):
            return plan(oxygen__supply="tank", oxygen__outlet={"content": content})

        own = from_tank("100 m3")
        takes_m3 = own.estimates["use.oxygen"].value
        pack = make_pack([from_tank(f"{1.5 * takes_m3:.4f} m3")] * 2)
        [outlet] = pack.outlets
        assert not [fetch for fetch in pack.cylinders if fetch.kind.gas == "oxygen"]
        assert outlet.takes.estimate.value == pytest.approx(2 * takes_m3)
        assert outlet.available.value == pytest.approx(1.5 * takes_m3, rel=1e-3)
        assert outlet.is_short
        rows = csv.DictReader(io.StringIO(pick_list_csv(pack)))
        [row] = [one for one in rows if one["what"] == "tank"]
        assert row["note"] == "at 15 °C, 1 bar absolute; the tank holds less than the jobs take"
        assert not make_pack([own, own]).outlets[0].is_short

    def test_natural_gas_comes_from_a_main(self):
        pack = make_pack([plan(fuel__gas="natural gas", torch__mixing="torch")])
        assert [(outlet.gas, outlet.supply) for outlet in pack.outlets] == [("natural gas", "main")]
        assert pack.outlets[0].available.is_withheld
        assert not pack.outlets[0].is_short


class TestNozzles:
    def test_one_for_all_jobs_that_are_cut_with_it(self):
        pack = make_pack([plan(), plan(plate__thickness="40 mm"), plan()])
        assert [need.jobs for need in pack.nozzles] == [(1, 2), (3,)]
        assert pack.nozzles[0].bore.value == pytest.approx(1.2)
        assert pack.changes == (0, 1)
        assert pack.changes_as_given == (0, 2)

    def test_another_torch_has_its_own(self):
        pack = make_pack([plan(), plan(torch__kind="machine")])
        assert len(pack.nozzles) == 2
        assert {need.kind.torch for need in pack.nozzles} == {"hand", "machine"}

    def test_one_of_a_chart_is_not_one_of_the_generic_set(self):
        chart = plan(chart__bore="1.2 mm", chart__nozzle="Z 12")
        pack = make_pack([plan(), chart])
        assert [(n.kind.name, n.kind.is_of_chart) for n in pack.nozzles] == [
            ("A-N-1.2", False),
            ("Z 12", True),
        ]

    def test_in_the_units_of_the_first_job(self):
        american = plan(units="US customary", paper="Letter")
        pack = make_pack([american, plan()])
        assert (pack.paper, pack.units.name) == ("Letter", "US customary")
        assert {need.bore.unit for need in pack.nozzles} == {"in"}
        assert {gas.total.estimate.unit for gas in pack.gases} == {"ft3"}
        both = american.estimates["use.oxygen"].value_si + used_kg(plan())
        assert pack.gases[0].total.estimate.value_si == pytest.approx(both)


class TestPickList:
    def read(self, pack):
        text = pick_list_csv(pack)
        rows = list(csv.DictReader(io.StringIO(text)))
        assert tuple(rows[0]) == PICK_LIST_COLUMNS
        return rows

    def test_it_reads_back_as_the_pack(self):
        pack = make_pack(all_samples())
        rows = self.read(pack)
        gases = [row for row in rows if row["what"] == "gas" and row["unit"] == "m³"]
        assert [row["gas"] for row in gases] == [gas.gas for gas in pack.gases]
        for row, gas in zip(gases, pack.gases, strict=True):
            one = gas.total.estimate
            assert float(row["needed"]) == pytest.approx(one.value, rel=1e-5)
            assert float(row["needed_low"]) == pytest.approx(one.low, rel=1e-5)
            assert float(row["needed_high"]) == pytest.approx(one.high, rel=1e-5)
            assert "15 °C, 1 bar" in row["note"]
        cylinders = [row for row in rows if row["what"] == "cylinder"]
        assert [float(row["fetch"]) for row in cylinders] == [
            fetch.fetch.value for fetch in pack.cylinders
        ]
        assert [int(row["on_hand"]) for row in cylinders] == [f.on_hand for f in pack.cylinders]
        assert sum(row["what"] == "nozzle" for row in rows) == len(pack.nozzles)
        [draft] = [row for row in rows if row["what"] == "not counted"]
        assert draft["jobs"] == "KD-0144"
        assert "chromium" in draft["note"]

    def test_a_part_that_is_missing_is_said(self):
        rows = self.read(make_pack([plan("T-1"), plan("T-2", **THICK)]))
        for row in rows:
            if row["what"] in {"gas", "cylinder"}:
                assert row["complete"] == "no"
                assert row["without"].startswith("T-2: ")
        assert {row["complete"] for row in rows if row["what"] == "nozzle"} == {"yes"}

    def test_a_withheld_number_is_empty_with_its_reason(self):
        [row] = [
            row
            for row in self.read(make_pack([plan()]))
            if row["what"] == "cylinder" and row["gas"] == "acetylene"
        ]
        assert (row["needed"], row["fetch"]) == ("", "")
        assert "no acetylene cylinder" in row["note"]

    def test_a_job_number_is_no_formula(self):
        rows = self.read(make_pack([plan('=HYPERLINK("x")')]))
        assert {row["jobs"] for row in rows} == {'\'=HYPERLINK("x")'}


def test_places():
    assert places_text([]) == ""
    assert places_text([4]) == "4"
    assert places_text([9, 2, 1, 4, 5, 6]) == "1, 2, 4–6, 9"


def test_every_text_is_said_through_the_catalog():
    with speaking(PSEUDO):
        pack = make_pack([plan("T-1", **STAINLESS), plan("T-2"), plan("T-3", **THICK)])
        texts = [
            *(gas.total.estimate.basis.text for gas in pack.gases),
            *(note for fetch in pack.cylinders for note in fetch.notes),
            *(fetch.one.basis.text for fetch in pack.cylinders),
            *(fetch.fetch.label for fetch in pack.cylinders),
            *(fetch.available.basis.text for fetch in pack.cylinders),
            pack.clock_time.estimate.label,
        ]
        assert len(texts) > 10
        assert [text for text in texts if not text.startswith("⟦")] == []
    assert pack.language == PSEUDO.code
