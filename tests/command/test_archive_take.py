"""The way back on the command line: a filled form, scans, the tray, the comparison."""

import io
import json
import re
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pypdf
import pypdfium2
import pytest
from PIL import Image

from kerfdocket.archive import Archive, ArchiveProblem, Taken, open_archive
from kerfdocket.archive.intake import ReadPage, read_file
from kerfdocket.command import run
from kerfdocket.command.cli import BAD_INPUT, GOOD
from kerfdocket.office import Watch

SAMPLES = Path(__file__).parents[2] / "samples"
JOB = SAMPLES / "base-plates-12mm.toml"
WRITTEN = {
    "nozzle_type": "1.2 mm, acetylene",
    "oxygen_before": "150 bar",
    "oxygen_after": "95",
    "fuel_before": "66.2",
    "fuel_after": "65,4 kg",
    "begun": "2026-11-25 7:30",
    "ended": "9.10",
    "measured_perpendicularity": "0.4",
    "cutter_name": "A. Cutter",
    "remarks": "Two plates were rusty.",
}


def _no_window(*_ignored: object) -> int:
    raise AssertionError("no window is wanted here")


class _Archive:
    """The command `archive` on a place of its own."""

    def __init__(self, place: Path) -> None:
        self.place = place

    def __call__(self, *arguments: str) -> tuple[int, str, str]:
        output, errors = io.StringIO(), io.StringIO()
        whole = ["archive", "--archive", str(self.place), "--who", "Clerk", *arguments]
        code = run(whole, _no_window, output, errors)
        return code, output.getvalue(), errors.getvalue()


@pytest.fixture
def archive(issued: tuple[Path, Path], tmp_path: Path) -> _Archive:
    """An archive of one's own in which KD-0141 was issued."""
    place = tmp_path / "a.sqlite"
    place.write_bytes(issued[0].read_bytes())
    return _Archive(place)


@pytest.fixture(scope="module")
def issued(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Path, Path]]:
    """An archive in which KD-0141 was issued, and its sheet with fields."""
    folder = tmp_path_factory.mktemp("issued")
    place, sheet = folder / "a.sqlite", folder / "sheet.pdf"
    code, _said, errors = _Archive(place)("issue", str(JOB), "--fillable", "-o", str(sheet))
    assert (code, errors) == (GOOD, "")
    return place, sheet


@pytest.fixture(scope="module")
def filled(issued: tuple[Path, Path], tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sheet as it comes back from a tablet."""
    writer = pypdf.PdfWriter(clone_from=issued[1])
    for page in writer.pages:
        writer.update_page_form_field_values(page, WRITTEN)
    path = tmp_path_factory.mktemp("filled") / "filled.pdf"
    with path.open("wb") as file:
        writer.write(file)
    return path


@pytest.fixture(scope="module")
def scans(issued: tuple[Path, Path]) -> list[Image.Image]:
    """Front and back as a scanner sees them."""
    document = pypdfium2.PdfDocument(issued[1])
    try:
        return [document[at].render(scale=150 / 72).to_pil().convert("L") for at in range(2)]
    finally:
        document.close()


def test_a_filled_form_is_taken_and_held_against_the_plan(archive, filled: Path) -> None:
    code, said, errors = archive("take", str(filled))
    assert (code, errors) == (GOOD, "")
    front, back = said.splitlines()
    assert front == "filled.pdf, page 1: KD-0141 A, front, 1 value"
    assert back == "filled.pdf, page 2: KD-0141 A, back, 9 values"
    assert archive("list")[1].split()[2] == "returned"
    shown = archive("show", "KD-0141")[1]
    assert "oxygen_before = 150 bar" in shown
    assert re.search(r"came back as [0-9a-f]{12}:2: filled\.pdf, page 2 \(A back\)", shown)
    rows = {
        one["name"]: one for one in json.loads(archive("compare", "KD-0141", "--json")[1])["rows"]
    }
    assert rows["use.oxygen"]["actual"]
    assert rows["cut.clock_time"]["actual"]
    assert rows["measured_perpendicularity"]["sense"] in {"as planned", "differs"}
    said = archive("compare", "KD-0141")[1]
    assert "Oxygen, all" in said
    assert "Not stated: " in said
    assert said.startswith("KD-0141 A  returned  Base plates for the stair tower\n")
    assert archive("verify")[0] == GOOD


def test_the_sheet_as_it_was_issued_did_not_come_back(
    archive, issued: tuple[Path, Path], filled: Path
) -> None:
    code, said, errors = archive("take", str(issued[1]), str(filled))
    assert code == BAD_INPUT
    assert errors.startswith("sheet.pdf is the sheet of KD-0141 A just as it was issued")
    assert said.splitlines()[0] == "filled.pdf, page 1: KD-0141 A, front, 1 value"


def test_what_is_not_compared_is_shown_beside_it(archive) -> None:
    archive(
        "record",
        "KD-0141",
        "cutter_name=R. Amsel",
        "cutter_time=gestern",
        "own_heat_number=7",
        "ended=",
    )
    said = archive("compare", "KD-0141")[1]
    assert "Cutter: name = R. Amsel\n" in said
    assert "Cutter: date and time = gestern\n  'gestern' is not a time" in said
    assert "own_heat_number = 7\n" in said
    note = "Gas volumes at 15 °C, 1 bar absolute; pressures are gauge readings."
    assert said.endswith(f"\n\n{note}\n")
    told = json.loads(archive("compare", "KD-0141", "--json")[1])
    assert (told["gas_reference"], told["note"]) == ("15 °C, 1 bar absolute", note)
    assert told["written"]["cutter_name"] == "R. Amsel"
    assert set(told["doubts"]) == {"cutter_time"}


def test_a_scan_upside_down_and_a_page_without_a_code(
    archive, scans: list[Image.Image], tmp_path: Path
) -> None:
    path = tmp_path / "scan.pdf"
    blank = Image.new("L", scans[0].size, 255)
    scans[0].rotate(180).save(path, save_all=True, append_images=[scans[1].rotate(2.0), blank])
    code, said, errors = archive("take", str(path))
    assert (code, errors) == (GOOD, "")
    lines = said.splitlines()
    assert lines[0].endswith("KD-0141 A, front")
    assert lines[1].endswith("KD-0141 A, back")
    assert "in the tray as" in lines[2]
    [waiting] = archive("tray")[1].splitlines()
    page = waiting.split()[0]
    assert page.endswith(":3")
    again = archive("take", str(path))[1]
    assert again.startswith("scan.pdf: was taken before")
    assert len(archive("tray")[1].splitlines()) == 1
    # By hand to its traveller, and what came back out again.
    code, said, _errors = archive("match", page, "KD-0141", "--side", "back")
    assert (code, said) == (GOOD, "scan.pdf, page 3: KD-0141 A, back\n")
    assert archive("tray")[1] == ""
    out = tmp_path / "out"
    assert archive("scans", "KD-0141", "-o", str(out))[1].count("KD-0141 A") == 3
    [kept] = out.iterdir()
    assert kept.suffix == ".pdf"
    assert kept.read_bytes() == path.read_bytes()
    assert archive("verify")[0] == GOOD


def test_a_filled_page_matched_by_hand_brings_its_values(
    archive, filled: Path, tmp_path: Path
) -> None:
    """The code torn off, the fields still there."""
    writer = pypdf.PdfWriter(clone_from=filled)
    for page in writer.pages:
        page.mediabox.upper_right = (page.mediabox.right, page.mediabox.top)
        page[pypdf.generic.NameObject("/Contents")] = pypdf.generic.StreamObject()
    path = tmp_path / "torn.pdf"
    with path.open("wb") as file:
        writer.write(file)
    assert archive("take", str(path))[1].count("in the tray") == 2
    back = archive("tray")[1].splitlines()[1].split()[0]
    said = archive("match", back, "KD-0141", "--side", "back")[1]
    assert said == "torn.pdf, page 2: KD-0141 A, back, 9 values\n"
    front = archive("tray")[1].split()[0]
    said = archive("match", front, "KD-0141", "--side", "both")[1]
    assert said.startswith("torn.pdf, page 1: KD-0141 A, front and back")
    assert "cutter_name = A. Cutter" in archive("show", "KD-0141")[1]


def test_a_scan_of_an_old_revision_says_so(
    archive, scans: list[Image.Image], tmp_path: Path
) -> None:
    archive("reissue", str(JOB), "--reason", "plate is thicker")
    path = tmp_path / "old.png"
    scans[1].save(path)
    code, said, errors = archive("take", str(path))
    assert code == GOOD
    assert "KD-0141 A, back" in said
    assert "Caution: KD-0141 A is superseded" in errors
    assert "Caution: KD-0141 A is superseded" in archive("show", "KD-0141")[1]


def test_set_aside(archive, tmp_path: Path) -> None:
    path = tmp_path / "blank.png"
    Image.new("L", (800, 1100), 255).save(path)
    archive("take", str(path))
    page = archive("tray")[1].split()[0]
    assert archive("set-aside", page, "--reason", "a blank page")[0] == GOOD
    assert archive("tray")[1] == ""
    assert "set aside: a blank page" in archive("take", str(path))[1]


def test_values_by_hand(archive) -> None:
    code, said, errors = archive(
        "record", "KD-0141", "oxygen_after=95 bar", "begun=soon", "own_heat_number=H-7"
    )
    assert code == GOOD
    assert "oxygen_after = 95 bar" in said
    assert "own_heat_number = H-7" in said
    # Kept as written, and said what would be read.
    assert "begun = soon" in said
    assert "begun: " in errors
    assert "7:30" in errors


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("take", "no-such-file.pdf"), "cannot read no-such-file.pdf"),
        (("take", str(JOB)), "PNG"),
        (("match", "abc:1", "KD-0141"), "no page of the tray; in it: nothing"),
        (("record", "KD-0141", "oxygen"), "accepted: NAME=VALUE"),
        (("record", "KD-0141", "oxigen_after=3"), "is no place of a sheet; accepted: "),
        (("record", "KD-9", "remarks=x"), "never issued"),
        (("compare", "KD-0141", "--revision", "C"), "there are A"),
        (("scans", "KD-0141", "-o", "out"), "nothing came back"),
        (("watch", "no-such-folder", "--once"), "cannot read no-such-folder"),
        (("watch", ".", "--every", "0"), "above 0 seconds"),
    ],
)
def test_what_does_not_fit_is_refused(archive, arguments: tuple[str, ...], said: str) -> None:
    code, output, errors = archive(*arguments)
    assert (code, output) == (BAD_INPUT, "")
    assert said in errors


def test_one_bad_file_does_not_keep_the_others_out(
    archive, scans: list[Image.Image], tmp_path: Path
) -> None:
    good = tmp_path / "good.tif"
    scans[0].save(good)
    code, said, errors = archive("take", str(JOB), str(good))
    assert code == BAD_INPUT
    assert "good.tif, page 1: KD-0141 A, front" in said
    assert JOB.name in errors


def test_the_scanners_folder(archive, scans: list[Image.Image], tmp_path: Path) -> None:
    folder = tmp_path / "scanner"
    folder.mkdir()
    scans[0].save(folder / "one.png")
    (folder / "note.txt").write_text("no scan")
    (folder / ".half").write_text("still being written")
    code, said, errors = archive("watch", str(folder), "--once", "--every", "0.01")
    assert code == GOOD
    assert "one.png, page 1: KD-0141 A, front" in said
    assert "note.txt" in errors
    assert (folder / "taken" / "one.png").is_file()
    assert (folder / "not-taken" / "note.txt").is_file()
    assert (folder / ".half").is_file()
    # The same scan under another name: taken before, and out of the way.
    scans[0].save(folder / "one.png")
    assert "was taken before" in archive("watch", str(folder), "--once", "--every", "0.01")[1]
    assert (folder / "taken" / "one (2).png").is_file()


def test_a_file_that_someone_else_took_is_no_trouble(
    archive, scans: list[Image.Image], tmp_path: Path
) -> None:
    folder = tmp_path / "scanner"
    folder.mkdir()
    scans[0].save(folder / "one.png")
    scans[1].save(folder / "two.png")
    with closing(open_archive(archive.place)) as opened:
        ours, theirs = Watch(folder), Watch(folder)
        assert [*ours.look(opened, "us"), *theirs.look(opened, "them")] == []
        seen = ours.look(opened, "us")
        first = next(seen)
        assert [one.file.name for one in theirs.look(opened, "them")] == ["two.png"]
        assert list(seen) == []
    assert first.taken is not None
    assert sorted(one.name for one in (folder / "taken").iterdir()) == ["one.png", "two.png"]


def test_a_scan_that_is_written_over_while_it_is_read_is_taken_too(
    archive, scans: list[Image.Image], tmp_path: Path
) -> None:
    folder = tmp_path / "scanner"
    folder.mkdir()
    for name in ("one.png", "two.png"):
        scans[0].save(folder / name)
    later = [scans[1], scans[1].rotate(180)]

    def read(content: bytes, name: str) -> Iterator[ReadPage]:
        # A scanner that counts anew, while the first is read: over that, and over one that rested.
        while later:
            page = later.pop()
            page.save(folder / ("one.png" if later else "two.png"))
        return read_file(content, name)

    with closing(open_archive(archive.place)) as opened:
        watch = Watch(folder, read)
        looked = [one for _look in range(4) for one in watch.look(opened, "us")]
    sides = [page.page.side for one in looked if one.taken for page in one.taken.pages]
    assert sorted(sides) == ["B", "B", "F"]
    assert [one for one in folder.iterdir() if one.is_file()] == []


def test_one_that_cannot_be_kept_does_not_hold_the_others_up(
    archive, scans: list[Image.Image], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "scanner"
    folder.mkdir()
    for name in ("one.png", "two.png"):
        scans[0].save(folder / name)

    def take(_opened: Archive, _content: bytes, name: str, *_more: object) -> Taken:
        if name == "one.png":
            raise ArchiveProblem("too large for this server")
        return Taken("", name, ())

    monkeypatch.setattr("kerfdocket.office.watching.take_file", take)
    with closing(open_archive(archive.place)) as opened:
        watch = Watch(folder)
        assert list(watch.look(opened, "us")) == []
        with pytest.raises(ArchiveProblem):
            list(watch.look(opened, "us"))
        again = watch.look(opened, "us")
        assert next(again).file.name == "two.png"
        with pytest.raises(ArchiveProblem):
            next(again)
    assert (folder / "one.png").is_file()


def test_a_folder_that_goes_and_comes_again(
    archive, scans: list[Image.Image], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, away, naps = tmp_path / "scanner", tmp_path / "away", iter(range(100))
    folder.mkdir()

    def nap(_seconds: float) -> None:
        match next(naps):
            case 0:
                folder.rename(away)
            case 2:
                scans[0].save(away / "one.png")
                away.rename(folder)
            case 5:
                raise KeyboardInterrupt

    monkeypatch.setattr("time.sleep", nap)
    code, said, errors = archive("watch", str(folder))
    assert code == GOOD
    assert errors.count("cannot read") == 1
    assert "one.png, page 1: KD-0141 A, front" in said


def test_a_file_that_still_grows_is_left_alone(
    archive, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "scanner"
    folder.mkdir()
    growing = folder / "growing.png"
    growing.write_bytes(b"x")
    naps: list[float] = []

    def nap(seconds: float) -> None:
        naps.append(seconds)
        with growing.open("ab") as file:
            file.write(b"x" * 100)

    monkeypatch.setattr("time.sleep", nap)
    assert archive("watch", str(folder), "--once", "--every", "0.3") == (GOOD, "", "")
    assert growing.stat().st_size == 1 + 100 * len(naps) > 1


def test_put_back_from_the_wrong_traveller(archive, filled: Path) -> None:
    archive("take", str(filled))
    page = re.search(r"as ([0-9a-f]{12}:2):", archive("show", "KD-0141")[1])
    assert page is not None
    assert archive("put-back", "xx:1", "--reason", "no")[0] == BAD_INPUT
    code, said, errors = archive("put-back", page[1], "--reason", "of another sheet")
    assert (code, errors) == (GOOD, "")
    first, *_values, last = said.splitlines()
    assert first == f"filled.pdf, page 2: in the tray as {page[1]}: of another sheet"
    assert last == "KD-0141 A is returned, as before"
    assert archive("tray")[1].startswith(page[1])
    archive("set-aside", page[1], "--reason", "nobody knows")
    assert archive("tray")[1] == ""
    assert archive("tray", "--set-aside")[1].startswith(page[1])
    assert archive("put-back", page[1], "--reason", "somebody does")[0] == GOOD
    assert archive("match", page[1], "KD-0141", "--side", "back")[0] == GOOD
    assert archive("verify")[0] == GOOD


def test_values_of_a_closed_one_need_a_reason(archive) -> None:
    archive("return", "KD-0141")
    archive("close", "KD-0141")
    value = ("record", "KD-0141", "oxygen_after=95 bar")
    assert archive(*value)[0] == BAD_INPUT
    assert archive(*value, "--reason", "read again")[:2] == (GOOD, "oxygen_after = 95 bar\n")
    assert re.search(r"recorded +Clerk: read again", archive("show", "KD-0141")[1])


def test_values_are_kept_where_their_job_cannot_be_read_any_more(archive) -> None:
    archive("withdraw", "KD-0141", "--reason", "old")
    archive("discard", "KD-0141", "--reason", "room", "--yes")
    code, said, errors = archive("record", "KD-0141", "oxygen_after=95 bar")
    assert (code, said) == (GOOD, "oxygen_after = 95 bar\n")
    assert "was given up" in errors
