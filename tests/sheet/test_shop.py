"""A shop's own folder: what it adds to the sheet, what it may not do, and what it cannot hide."""

import io
from pathlib import Path

import pypdf
import pytest

from kerfdocket.errors import InputError
from kerfdocket.job import load_job
from kerfdocket.planning import make_plan
from kerfdocket.planning.model import Plan
from kerfdocket.reference import load_reference
from kerfdocket.sheet import sheet_html, sheet_pdf
from kerfdocket.sheet.sandbox import template_problems
from kerfdocket.sheet.shop import Shop, ShopError, load_shop
from sheet.hand_plan import hand_plan, stop, with_findings

SAMPLE = Path(__file__).parents[2] / "samples" / "shop"
LEAST = 'kerfdocket-shop = 1\nname = "Quay shop"\n'
EXTENDS = '{% extends "traveller/sheet.html.j2" %}\n'


def _shop(folder: Path, more: str = "", **files: str | bytes) -> Shop:
    (folder / "shop.toml").write_text(LEAST + more, "utf-8")
    for name, content in files.items():
        path = folder / name.replace("__", ".")
        path.write_bytes(content.encode() if isinstance(content, str) else content)
    return load_shop(folder)


def _text(content: bytes) -> str:
    pages = pypdf.PdfReader(io.BytesIO(content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


SVG = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9">'


def _made_of_itself(kind: str, reference: str) -> str:
    """An SVG of ten parts in ten parts, seven deep."""
    inner = f'<{kind} id="a0" width="1" height="1"><rect width="1" height="1"/></{kind}>'
    for deep in range(1, 7):
        inner += f'<{kind} id="a{deep}">' + reference.format(deep - 1) * 10 + f"</{kind}>"
    return SVG + inner + reference.format(6) + "</svg>"


class TestWhatItAdds:
    def test_the_sample_stands_on_the_sheet(self) -> None:
        text = _text(sheet_pdf(hand_plan(), shop=load_shop(SAMPLE)))
        assert "Lower Quay Plate Shop" in text
        assert "Crane track above bay 3" in text
        assert "Ask the crane driver, do not wave." in text
        assert "Heat number stamped on the plate" in text
        assert "Offcuts to bin" in text

    def test_a_caution_for_another_gas_is_left_out(self) -> None:
        plan = hand_plan()
        assert plan.job.fuel.gas == "acetylene"
        assert "Gas alarm" not in sheet_html(plan, shop=load_shop(SAMPLE))

    def test_same_bytes_wherever_the_folder_lies(self, tmp_path: Path) -> None:
        for place in ("a", "b"):
            (tmp_path / place).mkdir()
            for file in SAMPLE.iterdir():
                (tmp_path / place / file.name).write_bytes(file.read_bytes())
        plan = hand_plan()
        one, other = (sheet_pdf(plan, shop=load_shop(tmp_path / place)) for place in ("a", "b"))
        assert one == other
        assert one != sheet_pdf(plan)

    def test_its_fields_are_fields_of_the_fillable_sheet(self) -> None:
        content = sheet_pdf(hand_plan(), is_fillable=True, shop=load_shop(SAMPLE))
        fields = pypdf.PdfReader(io.BytesIO(content)).get_fields() or {}
        assert {"own_heat_number", "own_offcut_bin", "nozzle_maker"} <= set(fields)

    def test_a_template_moves_what_the_sheet_says(self, tmp_path: Path) -> None:
        template = (
            EXTENDS + "{% block protections %}{% endblock %}"
            "{% block head %}{{ super() }}<p>Bring it back to hatch 4.</p>{% endblock %}"
            "{% block cuts %}{{ super() }}<p>Wear: {% for one in front.protections %}{{ one }}; "
            "{% endfor %}</p>{% endblock %}"
        )
        shop = _shop(tmp_path, 'template = "own.html.j2"\n', own__html__j2=template)
        assert "Bring it back to hatch 4." in _text(sheet_pdf(hand_plan(), shop=shop))

    def test_a_logo_of_each_kind(self, tmp_path: Path) -> None:
        from PIL import Image

        for kind in ("PNG", "JPEG"):
            kept = io.BytesIO()
            Image.new("RGB", (60, 20), "black").save(kept, kind)
            name = f"logo.{kind.lower()}"
            shop = _shop(tmp_path, f'logo = "{name}"\n', **{name: kept.getvalue()})
            content = sheet_pdf(hand_plan(), shop=shop)
            images = [
                one for page in pypdf.PdfReader(io.BytesIO(content)).pages for one in page.images
            ]
            assert len({one.name for one in images}) == 1


class TestWhatIsWrongIsSaid:
    @pytest.mark.parametrize(
        ("more", "said"),
        [
            ('logo = "none.png"', "logo: none.png is not there"),
            ('logo = "../shop.toml"', "must end in"),
            ('logo = "../logo.svg"', "lies outside the folder"),
            ('colour = "red"', "colour: this key is not known (known here: kerfdocket-shop, name"),
            ('lines = ["a", "b", "c", "d"]', "lines: at most 3 are accepted"),
            ("lines = [1]", "lines.0: must be text, in quotes"),
            ('lines = ["' + "x" * 81 + '"]', "lines.0: at most 80 letters are accepted"),
            (
                '[[fields]]\nname = "Heat No"\nlabel = "Heat"',
                "fields.0.name: must begin with a small",
            ),
            ('[[fields]]\nlabel = "Heat"', "fields.0.name: must be given"),
            ('[[fields]]\nname = "a"\nlabel = "A"\nside = "left"', "accepted: 'front' or 'back'"),
            ('[[fields]]\nname = "a"\nlabel = "A"\n' * 2, "a is there twice"),
            ('cautions = "none"', "cautions: must be a list of groups, each under [[cautions]]"),
            ('[[cautions]]\ntitle = "T"\nwhat_to_do = "W"\nfuel = "coal"', "is not a choice here"),
        ],
    )
    def test_by_key(self, tmp_path: Path, more: str, said: str) -> None:
        (tmp_path.parent / "logo.svg").write_text("<svg/>")
        with pytest.raises(ShopError) as refusal:
            _shop(tmp_path, more)
        assert said in str(refusal.value)
        assert "shop.toml: " in str(refusal.value)

    @pytest.mark.parametrize(
        ("content", "said"),
        [
            (b"name = ", "is not TOML"),
            (b'name = "\xff"', "is not text in UTF-8"),
            (b'name = "Quay"', "must say 'kerfdocket-shop = 1'"),
            (b"kerfdocket-shop = 2", "in format 2 by a newer program"),
        ],
    )
    def test_the_file_itself(self, tmp_path: Path, content: bytes, said: str) -> None:
        (tmp_path / "shop.toml").write_bytes(content)
        with pytest.raises(ShopError, match=said.replace("(", r"\(")):
            load_shop(tmp_path)

    def test_no_folder(self, tmp_path: Path) -> None:
        with pytest.raises(InputError, match="cannot be read"):
            load_shop(tmp_path / "nowhere")

    @pytest.mark.parametrize(
        ("name", "content", "said"),
        [
            ("l.svg", b'<!DOCTYPE a [<!ENTITY b "c">]><svg>&b;</svg>', "declares entities"),
            ("l.svg", b"<svg", "is no SVG"),
            ("l.svg", b"<html/>", "is no SVG"),
            ("l.svg", f'{SVG}<use href="../x.svg#a"/></svg>', "refers to something outside"),
            ("l.svg", f'{SVG}<rect fill="url(file:///x#a)"/></svg>', "refers to something outside"),
            ("l.svg", f"{SVG}<style>@import url(x.css)</style></svg>", "in its <style>"),
            ("l.svg", f'{SVG}<image href="x.png"/></svg>', "has a picture in it"),
            ("l.svg", f'{SVG}<g id="a"><use href="#a"/></g></svg>', "without end"),
            ("l.svg", _made_of_itself("g", '<use href="#a{}"/>'), "more than 20000 parts"),
            (
                "l.svg",
                _made_of_itself("pattern", '<rect fill="url(#a{})"/>'),
                "more than 20000 parts",
            ),
            ("l.png", b"\x89PNG and no more", "is no picture that can be read"),
            ("l.png", b"x" * 2_000_001, "is larger than 2 MB"),
        ],
    )
    def test_pictures(self, tmp_path: Path, name: str, content: str | bytes, said: str) -> None:
        with pytest.raises(ShopError, match=said):
            _shop(tmp_path, f'logo = "{name}"\n', **{name: content})

    def test_a_drawing_with_gradients_and_clones(self, tmp_path: Path) -> None:
        logo = (
            SVG + '<style>.a{fill:url(#g)}</style><linearGradient id="g"><stop/></linearGradient>'
            '<g id="b"><rect class="a" width="2" height="2"/></g><use href="#b" x="4"/></svg>'
        )
        assert _shop(tmp_path, 'logo = "l.svg"\n', l__svg=logo).logo == "l.svg"

    @pytest.mark.parametrize("content", ["a = " + "[" * 9000, "a = " + "9" * 5000])
    def test_beyond_all_measure(self, tmp_path: Path, content: str) -> None:
        (tmp_path / "shop.toml").write_text(content)
        with pytest.raises(ShopError, match="beyond all measure"):
            load_shop(tmp_path)

    def test_what_is_no_file(self, tmp_path: Path) -> None:
        (tmp_path / "shop.toml").mkdir()
        with pytest.raises(ShopError, match="is no file"):
            load_shop(tmp_path)

    def test_a_template_too_long(self, tmp_path: Path) -> None:
        with pytest.raises(ShopError, match="is larger than 100000 bytes"):
            _shop(tmp_path, 'template = "own.html.j2"\n', own__html__j2=EXTENDS + "x" * 100_000)


# Each would reach out of the sandbox, run on, or grow without end.
ATTACKS = [
    "{{ ''.__class__ }}",
    "{{ sheet['__class__'] }}",
    "{{ sheet|attr('__class__') }}",
    "{{ '%999999999d' % 1 }}",
    "{{ 'x' * 999999999 }}",
    "{{ 9 ** 9 ** 9 }}",
    "{% for a in range(999999999) %}x{% endfor %}",
    "{{ _('{a.__class__}', a=sheet) }}",
    "{{ 'x'.format(1) }}",
    "{{ 'x'|center(999999999) }}",
    "{% set x = 'xx' %}{% set x = x ~ x %}",
    "{% set x %}{{ y }}{{ y }}{% endset %}",
    "{% macro a() %}{{ a() }}{% endmacro %}{{ a() }}",
    "{% for a in b recursive %}{{ loop(a) }}{% endfor %}",
    "{% include 'own.html.j2' %}",
    "{% extends '../../etc/passwd' %}",
    "{% import sheet.number as n %}",
    "{% autoescape false %}{{ sheet.title }}{% endautoescape %}",
    "{{ sheet.title|safe }}",
    "{% for a in x %}{% for b in x %}{% for c in x %}y{% endfor %}{% endfor %}{% endfor %}",
    "{{ cycler('a').next() }}",
    "{{ sheet.number",
    "{% set m = sheet.number %}{{ m.zfill(999999999) }}",
    "{% block head %}{% for m in sheet.shop.lines %}{{ m.zfill(9) }}{% endfor %}{% endblock %}",
    "{% with m = sheet.number %}{{ m.zfill(999999999) }}{% endwith %}",
    "{% set super = sheet.number.upper %}{{ super() }}",
    "{% import 'traveller/sheet.html.j2' as m %}",
    "{% import 'shared/macros.html.j2' as n %}",
    "{% set a = [sheet, sheet] %}{% set a = [a, a] %}{{ a }}",
    "{% set a = (sheet, sheet) %}",
    "{% set a = {'a': sheet, 'b': sheet} %}",
    "{% set a = sheet.title|join('xxxx') %}",
    "{{ sheet.title|join('xxxx')|join('xxxx') }}",
    "{% set a = m.field(a, a) %}",
    "{{ m.field(m.field('a', 'a')) }}",
    "{% for a in super() %}{% for b in super() %}{% endfor %}{% endfor %}",
    "{% for a in '" + "x" * 201 + "' %}{% endfor %}",
    "{% for a in [" + "1," * 21 + "] %}{% endfor %}",
    "{% block head %}{% endblock %}{% block head %}{% endblock %}",
    "{% block head %}{% set _x = 1 %}{% endblock %}",
]
# Found as a whole, without a line of its own.
ENDLESS = [
    "{{ " + "(" * 3000 + "1" + ")" * 3000 + " }}",
    "{{ 1" + "|e" * 3000 + " }}",
    "{% if 1 %}" * 500 + "{% endif %}" * 500,
]


class TestWhatItMayNotDo:
    @pytest.mark.parametrize("attack", ATTACKS)
    def test_a_template(self, tmp_path: Path, attack: str) -> None:
        assert template_problems(attack)
        with pytest.raises(ShopError, match=r"own\.html\.j2, line 2: "):
            _shop(tmp_path, 'template = "own.html.j2"\n', own__html__j2=EXTENDS + attack)

    @pytest.mark.parametrize("attack", ENDLESS)
    def test_a_template_without_end(self, tmp_path: Path, attack: str) -> None:
        with pytest.raises(ShopError, match="is no template"):
            _shop(tmp_path, 'template = "own.html.j2"\n', own__html__j2=EXTENDS + attack)

    @pytest.mark.parametrize(
        ("inside", "said"),
        [
            ("{{ 1 // 0 }}", "zero"),
            ("{{ m.rows(1) }}", "not iterable"),
            (
                "{% for a in sheet.number %}{% for b in sheet.number %}"
                + "y" * 90_000
                + "{% endfor %}{% endfor %}",
                "more than 5000000 letters",
            ),
        ],
    )
    def test_what_goes_wrong_while_it_is_made(self, tmp_path: Path, inside: str, said: str) -> None:
        template = EXTENDS + "{% block head %}" + inside + "{% endblock %}"
        shop = _shop(tmp_path, 'template = "own.html.j2"\n', own__html__j2=template)
        with pytest.raises(ShopError, match=rf"own\.html\.j2: .*{said}"):
            sheet_html(hand_plan(), shop=shop)

    @pytest.mark.parametrize(
        "tag",
        [
            '<link rel="attachment" href="file:///shop-folder/job.toml">',
            '<a rel="attachment" href="file:///shop-folder/job.toml">x</a>',
            '<a href="https://example.invalid/">x</a>',
            '<a href="javascript:x()">x</a>',
            '<form action="https://example.invalid/"></form>',
            '<button type="submit">x</button>',
            '<base href="file:///shop-folder/">',
            '<iframe src="own.html.j2"></iframe>',
            '<object data="own.html.j2"></object>',
            "<script>x()</script>",
            '<input type="submit">',
            '<svg><g id="a"><use href="#a"/></g></svg>',
        ],
    )
    def test_a_tag(self, tmp_path: Path, tag: str) -> None:
        (tmp_path / "job.toml").write_text("another job")
        template = EXTENDS + "{% block head %}{{ super() }}" + tag + "{% endblock %}"
        shop = _shop(tmp_path, 'template = "own.html.j2"\n', own__html__j2=template)
        with pytest.raises(ShopError, match=r"own\.html\.j2: .*<|without end"):
            sheet_pdf(hand_plan(), shop=shop)

    @pytest.mark.parametrize(
        ("name", "content"),
        [
            ("more.svg", _made_of_itself("g", '<use href="#a{}"/>')),
            ("more.png", _made_of_itself("g", '<use href="#a{}"/>')),
            ("more.css", _made_of_itself("g", '<use href="#a{}"/>')),
            ("more.ttf", _made_of_itself("g", '<use href="#a{}"/>')),
            ("more.xml", SVG + "</svg>"),
        ],
    )
    def test_a_file_that_only_the_style_names(
        self, tmp_path: Path, name: str, content: str
    ) -> None:
        style = f"h1 {{ background: url({name}) }}"
        files = {"own__css": style, name: content}
        shop = _shop(tmp_path, 'style = "own.css"\n', **files)
        with pytest.raises(ShopError, match=r"more than 20000|is no|must end in"):
            sheet_pdf(hand_plan(), shop=shop)

    @pytest.mark.parametrize(
        ("key", "name"), [("logo", "l.png"), ("style", "l.css"), ("template", "l.html.j2")]
    )
    def test_a_link_out_of_the_folder(self, tmp_path: Path, key: str, name: str) -> None:
        (tmp_path / "shop").mkdir()
        (tmp_path / name).write_text("secret")
        (tmp_path / "shop" / name).symlink_to(tmp_path / name)
        with pytest.raises(ShopError, match="lies outside the folder"):
            _shop(tmp_path / "shop", f'{key} = "{name}"\n')

    def test_a_template_that_has_become_a_link(self, tmp_path: Path) -> None:
        (tmp_path / "shop").mkdir()
        own = tmp_path / "shop" / "own.html.j2"
        shop = _shop(tmp_path / "shop", 'template = "own.html.j2"\n', own__html__j2=EXTENDS)
        (tmp_path / "elsewhere").write_text("secret")
        own.unlink()
        own.symlink_to(tmp_path / "elsewhere")
        with pytest.raises(ShopError, match="lies outside the folder"):
            sheet_html(hand_plan(), shop=shop)

    def test_a_template_changed_since(self, tmp_path: Path) -> None:
        shop = _shop(tmp_path, 'template = "own.html.j2"\n', own__html__j2=EXTENDS)
        (tmp_path / "own.html.j2").write_text(EXTENDS + ATTACKS[0])
        with pytest.raises(ShopError, match="underscore"):
            sheet_html(hand_plan(), shop=shop)

    def test_a_name_that_is_not_there(self, tmp_path: Path) -> None:
        template = EXTENDS + "{% block head %}{{ sheet.wages }}{% endblock %}"
        shop = _shop(tmp_path, 'template = "own.html.j2"\n', own__html__j2=template)
        with pytest.raises(ShopError, match=r"own\.html\.j2: .*wages"):
            sheet_html(hand_plan(), shop=shop)

    @pytest.mark.parametrize(
        "address",
        [
            "file:///etc/passwd",
            "https://example.invalid/x.png",
            "../../../etc/passwd",
            "link.png",
            "data:image/png;base64,AAAA",
            "missing.png",
        ],  # each beside the style sheet or far from it
    )
    def test_load_from_elsewhere(self, tmp_path: Path, address: str) -> None:
        (tmp_path / "link.png").symlink_to("/etc/passwd")
        style = f".shop {{ background: url({address}) }}"
        shop = _shop(tmp_path, 'style = "own.css"\n', own__css=style)
        with pytest.raises(ShopError, match=r"may not load|is not there"):
            sheet_pdf(hand_plan(), shop=shop)

    @pytest.mark.parametrize("text", ["<script>x</script>", "{{ 7*7 }}", "</style>&amp;"])
    def test_its_texts_are_text(self, tmp_path: Path, text: str) -> None:
        more = f'[[cautions]]\ntitle = "{text}"\nwhat_to_do = "{text}"\n'
        more += f'[[fields]]\nname = "a"\nlabel = "{text}"\n'
        html = sheet_html(hand_plan(), shop=_shop(tmp_path, more))
        assert "<script>" not in html
        assert "49" not in html.replace(sheet_html(hand_plan()), "").split("own")[-1][:400]


@pytest.fixture(scope="module")
def real_plan() -> Plan:
    return make_plan(load_job(SAMPLE.parent / "base-plates-12mm.toml"), load_reference())


class TestWhatItCannotHide:
    @pytest.mark.parametrize(
        "style",
        [
            ".emergency { display: none }",
            ".emergency { visibility: hidden }",
            ".emergency { opacity: 0.2 }",
            ".emergency { color: #ddd }",
            ".emergency { color: transparent }",
            ".steps { font-size: 4pt }",
            ".running-foot { display: none }",
            ".protections { display: none }",
            ".signoff { display: none }",
            ".code { display: none }",
            ".code { width: 9mm; height: 9mm }",
            ".regulator { display: none }",
            ".emergency { position: absolute; left: 900mm }",
            "body::after { content: ''; position: fixed; left: 0; top: 0; width: 210mm;"
            " height: 297mm; background: #fff }",
            ".signoff { border-top: 100mm solid #fff; margin-top: -100mm }",
            ".signoff { outline: 60mm solid #fff }",
            ".emergency { background: linear-gradient(#000, #000) }",
            ".emergency { height: 0; overflow: hidden }",
            ".steps { max-height: 3mm; overflow: hidden }",
            ".emergency { position: absolute; clip: rect(0, 0, 0, 0) }",
            ".emergency p { text-indent: -9999px }",
            ".emergency { transform: scale(0) }",
            ".steps li { transform: translate(-300mm) }",
            ".emergency { letter-spacing: -2mm }",
            ".emergency { word-spacing: -5mm }",
            ".emergency { line-height: 0 }",
            ".emergency p { margin-top: -6mm }",
            ".group { position: absolute; top: 50mm }",
            ".emergency { text-decoration: line-through }",
            ".emergency { text-decoration: underline 6mm #000 }",
            ".code { opacity: 0.1 }",
            ".code { position: absolute; left: 300mm }",
            ".code { transform: rotate(45deg) }",
            "header { position: relative } header::after { content: ''; position: absolute;"
            " right: 0; top: 0; width: 40mm; height: 40mm; background: #fff }",
        ],
    )
    def test_by_style(self, tmp_path: Path, style: str, real_plan: Plan) -> None:
        shop = _shop(tmp_path, 'style = "own.css"\n', own__css=style)
        with pytest.raises(ShopError, match="the sheet must say this"):
            sheet_pdf(real_plan, shop=shop)

    @pytest.mark.parametrize(
        "style",
        [
            ".emergency { overflow: hidden; border: 2pt solid #000; background: #eee }",
            ".steps { text-transform: uppercase }",
            ".steps li { border-bottom: 1pt dotted #888; text-decoration: underline }",
            "body::before { content: 'QUAY'; position: fixed; font-size: 90pt; opacity: 0.1 }",
        ],
    )
    def test_what_dresses_it_passes(self, tmp_path: Path, style: str, real_plan: Plan) -> None:
        shop = _shop(tmp_path, 'style = "own.css"\n', own__css=style)
        assert "At once, when it goes wrong" in _text(sheet_pdf(real_plan, shop=shop))

    @pytest.mark.parametrize(
        "block", ["emergencies", "cautions", "steps", "set", "signoff", "protections"]
    )
    def test_by_template(self, tmp_path: Path, block: str, real_plan: Plan) -> None:
        template = EXTENDS + "{% block " + block + " %}{% endblock %}"
        shop = _shop(tmp_path, 'template = "own.html.j2"\n', own__html__j2=template)
        with pytest.raises(ShopError, match="the sheet must say this"):
            sheet_pdf(real_plan, shop=shop)

    def test_that_a_draft_is_not_for_cutting(self, tmp_path: Path) -> None:
        draft = with_findings(hand_plan(), stop())
        assert "NOT FOR CUTTING" in _text(sheet_pdf(draft, shop=load_shop(SAMPLE)))
        shop = _shop(tmp_path, 'style = "own.css"\n', own__css=".running-draft { display: none }")
        with pytest.raises(ShopError, match="NOT FOR CUTTING"):
            sheet_pdf(draft, shop=shop)
