"""The picture of a joint is a valid SVG of its own, true to the geometry of the order, and gives foreign text no power."""

import math
from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal
from itertools import pairwise
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import pytest

from analysis.plot_pattern import DRAWN_AT_MOST, pattern_svg, pattern_text
from analysis.report.printable import _widths
from schemas.plan.order import ORDERS, started_at
from schemas.route import Band, Joint, Stage

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = "\"quote' <script>alert(1)</script> & ]]> </svg> &lt; %s עברית 5-6 \u202e"
LONG = "W" * 300 + " a name that goes on" * 10


def joint(fasteners: int, word: str = "cross", **more: object) -> Joint:
    made = Joint("j", "Hub nuts", fasteners, (), ORDERS[word](fasteners), word, "N·m")
    return replace(made, **more)  # type: ignore[arg-type]  # any field may be given


def stage(order: tuple[int, ...]) -> Stage:
    ten = Decimal(10)
    return Stage(1, Decimal(100), Band(ten, ten, ten, ten, ten, ten), order=order)


def parsed(svg: bytes) -> Element:
    root = ElementTree.fromstring(svg)
    assert root.tag == f"{SVG}svg"
    return root


def fasteners(root: Element) -> Iterator[tuple[int, Element]]:
    for group in root.iter(f"{SVG}g"):
        if "data-position" in group.attrib:
            yield int(group.attrib["data-position"]), group


def circle(group: Element) -> Element:
    """The fastener itself; a second ring around it stands before."""
    return group.findall(f"{SVG}circle")[-1]


def middles(root: Element) -> dict[int, tuple[float, float]]:
    """Each position where its number is read; the number stands in the middle of its circle."""
    found = {}
    for position, group in fasteners(root):
        place = circle(group)
        (number,) = [text for text in group.iter(f"{SVG}text") if text.text == str(position)]
        assert (number.get("x"), number.get("y")) == (place.get("cx"), place.get("cy"))
        found[position] = (float(place.attrib["cx"]), float(place.attrib["cy"]))
    return found


def turns(root: Element) -> list[int]:
    """The positions in the order of the turn that is written beside each."""
    said = {}
    for position, group in fasteners(root):
        for text in group.iter(f"{SVG}text"):
            if (text.text or "").endswith("."):
                said[int((text.text or "")[:-1])] = position
    return [said[turn] for turn in sorted(said)]


def size(root: Element) -> tuple[float, float]:
    left, top, width, height = map(float, root.attrib["viewBox"].split())
    assert (left, top) == (0, 0)
    return width, height


def said(root: Element) -> str:
    """All words that are drawn, the lines put together again."""
    return " ".join(text.text or "" for text in root.iter(f"{SVG}text"))


# That steps 2k-1 and 2k of a bolt circle lie opposite is drawn on a gasket maker's worksheet (read as excerpt, 4 to 24).
@pytest.mark.parametrize("count", range(4, DRAWN_AT_MOST + 1, 2))
def test_pairs_of_an_even_cross_are_drawn_diametrically_opposite(count: int) -> None:
    at = middles(root := parsed(pattern_svg(joint(count))))

    x, y = (sum(place[axis] for place in at.values()) / count for axis in (0, 1))
    ring = math.dist(at[1], (x, y))
    order = turns(root)
    assert len(order) == count
    for one, other in zip(order[::2], order[1::2], strict=True):
        assert math.dist(at[one], at[other]) == pytest.approx(2 * ring, abs=1e-6)
        assert (at[one][0] + at[other][0]) / 2 == pytest.approx(x, abs=1e-6)
        assert (at[one][1] + at[other][1]) / 2 == pytest.approx(y, abs=1e-6)


@pytest.mark.parametrize("count", [2, 3, 5, 8, 24, 60])
def test_a_circle_has_position_1_at_the_top_and_the_others_clockwise_at_equal_angles(count: int) -> None:
    at = middles(parsed(pattern_svg(joint(count))))

    x, y = (sum(place[axis] for place in at.values()) / count for axis in (0, 1))
    # y runs downwards in SVG, so that a growing angle runs clockwise; from the top on.
    angles = [math.degrees(math.atan2(at[n][1] - y, at[n][0] - x)) + 90 for n in range(1, count + 1)]
    assert [(angle + 1) % 360 - 1 for angle in angles] == pytest.approx([360 * n / count for n in range(count)], abs=1e-5)


@pytest.mark.parametrize(("pattern", "word"), [("circle", "cross"), ("row", "in line")])
@pytest.mark.parametrize("count", [1, 2, 5, 24, 37, 60])
def test_a_right_joint_is_the_mirror_image_of_the_left_one(pattern: str, word: str, count: int) -> None:
    left, right = (parsed(pattern_svg(joint(count, word, pattern=pattern, side=side), words=False)) for side in ("left", "right"))

    width, _ = size(left)
    assert size(left) == size(right)
    assert turns(left) == turns(right)
    for position, (x, y) in middles(left).items():
        assert middles(right)[position] == pytest.approx((width - x, y), abs=1e-6)
    # The turns stand beside their fasteners on the mirrored side too.
    for text, other in zip(left.iter(f"{SVG}text"), right.iter(f"{SVG}text"), strict=True):
        assert text.text == other.text
        assert float(other.attrib["x"]) == pytest.approx(width - float(text.attrib["x"]), abs=1e-6)


def test_a_row_runs_from_left_to_right_and_a_long_one_in_lines() -> None:
    one = middles(parsed(pattern_svg(joint(9, "in line", pattern="row"))))
    four = parsed(pattern_svg(joint(60, "in line", pattern="row")))

    assert len({y for _, y in one.values()}) == 1
    assert sorted(one, key=lambda n: one[n]) == list(range(1, 10))
    at = middles(four)
    assert sorted(at, key=lambda n: (at[n][1], at[n][0])) == list(range(1, 61))
    assert "drawn in 4 lines" in said(four)


@pytest.mark.parametrize("pattern", ["circle", "row"])
@pytest.mark.parametrize("count", [*range(1, 14), 24, 37, 60])
def test_no_fastener_covers_another_or_leaves_the_picture(count: int, pattern: str) -> None:
    root = parsed(pattern_svg(joint(count, pattern=pattern), done=(1,), next_=count))

    width, height = size(root)
    at = list(middles(root).values())
    radius = float(circle(next(fasteners(root))[1]).attrib["r"])
    assert all(math.dist(one, other) > 2 * radius for n, one in enumerate(at) for other in at[:n])
    assert all(radius < x < width - radius and radius < y < height - radius for x, y in at)


@pytest.mark.parametrize("count", [4, 5, 12])
def test_arrows_lead_from_each_fastener_to_the_next_one(count: int) -> None:
    root = parsed(pattern_svg(joint(count)))

    at, order = middles(root), turns(root)
    lines, heads = list(root.iter(f"{SVG}line")), list(root.iter(f"{SVG}polygon"))
    for line, head, (one, other) in zip(lines, heads, pairwise(order), strict=True):
        start = float(line.attrib["x1"]), float(line.attrib["y1"])
        tip = tuple(map(float, head.attrib["points"].split()[0].split(",")))
        assert min(at, key=lambda n: math.dist(at[n], start)) == one
        assert min(at, key=lambda n: math.dist(at[n], tip)) == other


def test_more_than_twelve_have_no_arrows_and_more_than_sixty_only_a_sentence() -> None:
    assert not parsed(pattern_svg(joint(13))).findall(f".//{SVG}line")
    root = parsed(pattern_svg(joint(61), words=False))

    assert not list(fasteners(root))
    assert said(root) == "Hub nuts 61 fasteners in a circle, order cross: too many to draw."


def test_a_stage_with_its_own_order_is_drawn_in_that_order() -> None:
    own = started_at(ORDERS["cross"](8), 3, 8, "circle")

    assert turns(parsed(pattern_svg(joint(8), stage=stage(own)))) == list(own)
    assert turns(parsed(pattern_svg(joint(8), stage=stage(())))) == [1, 5, 3, 7, 2, 6, 4, 8]


def test_any_order_has_no_turns_and_no_arrows() -> None:
    root = parsed(pattern_svg(joint(6, "any")))

    assert turns(root) == []
    assert not list(root.iter(f"{SVG}polygon"))
    assert "Any order." in said(root)


def test_done_and_next_differ_by_shape_and_are_said_in_words() -> None:
    root = parsed(pattern_svg(joint(5, "any"), done=(1, 3), next_=5))

    groups = dict(fasteners(root))
    shapes = {n: [child.tag.removeprefix(SVG) for child in group] for n, group in groups.items()}
    assert shapes[1] == shapes[3] == ["circle", "line", "text"]
    assert shapes[5] == ["circle", "polygon", "circle", "text"]
    assert shapes[2] == shapes[4] == ["circle", "text"]
    assert "done: 1, 3; next: 5" in (root.findtext(f"{SVG}desc") or "")
    assert "Filled, with a stripe: done. Double ring, with a pointer: next, 5." in said(root)


@pytest.mark.parametrize(
    ("more", "words"),
    [
        pytest.param({}, ["From where the picture is seen is not stated."], id="not-stated"),
        pytest.param({"seen_from": "outside"}, ["Picture seen from outside."], id="stated"),
        pytest.param(
            {"seen_from": "above", "side": "left"},
            ["Picture seen from above.", "Left side, seen facing forward of travel."],
            id="left",
        ),
        pytest.param({"side": "right"}, ["Right side, seen facing forward of travel."], id="right"),
    ],
)
def test_the_caption_says_from_where_and_on_which_side(more: dict[str, object], words: list[str]) -> None:
    root = parsed(pattern_svg(joint(4, **more)))

    for line in words:
        assert line in said(root)


def test_title_and_description_are_there_for_who_cannot_see_it_even_without_captions() -> None:
    root = parsed(pattern_svg(joint(4, seen_from="outside"), words=False))

    assert root.get("role") == "img"
    assert [child.tag for child in root][:2] == [f"{SVG}title", f"{SVG}desc"]
    assert root.findtext(f"{SVG}title") == "Hub nuts: positions and order"
    assert root.findtext(f"{SVG}desc") == pattern_text(joint(4, seen_from="outside"))
    assert "Hub nuts" not in said(root)


@pytest.mark.parametrize("text", [HOSTILE, LONG, "\x00\x1b[31m \ud800", "漢字" * 250], ids=["markup", "long", "controls", "wide"])
def test_foreign_text_stays_text_and_inside_the_picture(text: str) -> None:
    svg = pattern_svg(joint(6, name=text, seen_from=text, side="left"))

    root = parsed(svg)
    width, height = size(root)
    assert {each.tag.removeprefix(SVG) for each in root.iter()} <= {
        "svg", "title", "desc", "rect", "g", "circle", "line", "polygon", "text",
    }  # fmt: skip
    assert b"<script" not in svg
    for line in root.findall(f"{SVG}text"):
        # The bold font is wider than the plain one by a tenth, as measured over its letters.
        long = sum(_widths().get(ord(char), 1.0) for char in line.text or "") * 11 * (1.1 if line.get("font-weight") else 1)
        assert long <= width
        assert 0 < float(line.attrib["y"]) < height
    shown = said(root).replace(" ", "")
    for char in set(text) - set(" "):
        assert (char if char.isprintable() else "\ufffd") in shown


def test_nothing_comes_from_outside_the_picture() -> None:
    svg = pattern_svg(joint(12, seen_from="outside"), next_=3).decode()

    assert svg.count("http") == svg.count('xmlns="http://www.w3.org/2000/svg"') == 1
    assert not any(word in svg for word in ("href", "url(", "<style", "<script", "<!", "<?", " id=", " on"))


def test_the_same_joint_gives_the_same_bytes() -> None:
    assert pattern_svg(joint(24), done={3, 1, 2}) == pattern_svg(joint(24), done=[2, 3, 1])


@pytest.mark.parametrize(
    ("made", "text"),
    [
        pytest.param(
            joint(4, seen_from="outside"),
            "order 1, 3, 2, 4 of 4; circle, position 1 at the top, then clockwise; picture seen from outside",
            id="cross",
        ),
        pytest.param(
            joint(5, "in line", pattern="row", side="right"),
            "order 3, 2, 4, 1, 5 of 5; row, positions from right to left; from where the picture is seen is not stated; "
            "right side, seen facing forward of travel",
            id="row-of-a-right-joint",
        ),
        pytest.param(
            joint(6, "any", seen_from="above", side="left"),
            "any order of 6; circle, position 1 at the top, then clockwise; picture seen from above; "
            "left side, seen facing forward of travel",
            id="any-with-a-picture",
        ),
        pytest.param(joint(6, "any"), "any order of 6", id="any"),
        pytest.param(joint(1), "1 fastener", id="one"),
        pytest.param(
            joint(7, order=(1, 2, 3, 7, 6, 4, 5), order_word="listed", seen_from="יציאה 5"),
            "order 1 to 3, 7, 6, 4, 5 of 7; circle, position 1 at the top, then clockwise; picture seen from \u2068יציאה 5\u2069",
            id="listed-with-a-run",
        ),
        pytest.param(
            joint(4, "any", order=(2, 3, 4, 1)),
            "order 2 to 4, 1 of 4; circle, position 1 at the top, then clockwise; from where the picture is seen is not stated",
            id="any-with-a-start",
        ),
    ],
)
def test_the_order_in_words(made: Joint, text: str) -> None:
    assert pattern_text(made) == text


def test_every_position_is_named_in_words_however_many_there_are() -> None:
    order = pattern_text(joint(999)).partition(" of 999")[0].removeprefix("order ")

    assert sorted(map(int, order.split(", "))) == list(range(1, 1000))
    assert pattern_text(joint(8), stage((3, 7, 5, 1, 4, 8, 6, 2))).startswith("order 3, 7, 5, 1, 4, 8, 6, 2 of 8;")
