"""The drawings show what the catalogue holds, can be read, and mark one point without a stylesheet."""

import itertools
import re
from xml.etree import ElementTree as ET

import pytest
from django.template.loader import render_to_string

from inventory import catalogue
from inventory.catalogue import drawing

SVG = "{http://www.w3.org/2000/svg}"
WIDTH = 340.0

every_family = pytest.mark.parametrize("family", catalogue.FAMILIES)
both_sides = pytest.mark.parametrize("mirrored", [False, True], ids=["left", "right"])


def codes_of(family: str) -> list[str]:
    return [point.code for point in catalogue.points_of(family)]


def parsed(text: str) -> ET.Element:
    return ET.fromstring(text)  # noqa: S314 - our own drawings


def drawn(family: str, *, active: str | None = None, mirrored: bool = False) -> ET.Element:
    return parsed(drawing.render(family, active=active, codes=codes_of(family), mirrored=mirrored))


def groups_in(root: ET.Element) -> dict[str, ET.Element]:
    return {code: group for group in root.iter(f"{SVG}g") if (code := group.get("data-point"))}


def placed(root: ET.Element) -> list[tuple[ET.Element, float, float, float]]:
    """Every text and label box with the place of its centre, and the scale of x it is drawn at."""
    found: list[tuple[ET.Element, float, float, float]] = []

    def walk(element: ET.Element, scale: float, x: float, y: float) -> None:
        for name, numbers in re.findall(r"(translate|scale)\(([^)]*)\)", element.get("transform", "")):
            first, second = (float(number) for number in numbers.split())
            if name == "translate":
                x, y = x + scale * first, y + second
            else:
                assert (abs(first), second) == (1, 1)
                scale *= first
        if element.tag in {f"{SVG}text", f"{SVG}rect"}:
            found.append((element, scale, x, y))
        for child in element:
            walk(child, scale, x, y)

    walk(root, 1.0, 0.0, 0.0)
    return found


@every_family
def test_the_drawing_has_a_group_for_every_point_of_the_family_and_no_other(family: str) -> None:
    assert drawing.drawn_codes(family) == set(codes_of(family))


@every_family
def test_every_group_has_a_line_and_a_label_with_its_own_code(family: str) -> None:
    for code, group in groups_in(drawn(family)).items():
        lines = [element for element in group if element.get("class") == "pom-line"]
        assert len(lines) == 1
        assert (lines[0].get("d") or "").startswith("M")
        assert [text.text for text in group.iter(f"{SVG}text")] == [code]


@every_family
@both_sides
def test_only_the_wanted_points_are_drawn(family: str, mirrored: bool) -> None:  # noqa: FBT001
    wanted = [point.code for point in catalogue.core_points(family)]
    root = parsed(drawing.render(family, active=None, codes=wanted, mirrored=mirrored))
    assert set(groups_in(root)) == set(wanted)


@every_family
def test_a_drawing_without_points_is_the_bare_garment(family: str) -> None:
    root = parsed(drawing.render(family, active=None, codes=()))
    assert groups_in(root) == {}
    assert any(element.get("class") == "art" for element in root)


@every_family
@both_sides
def test_each_point_in_turn_is_marked_by_attributes_alone_and_drawn_last(
    family: str,
    mirrored: bool,  # noqa: FBT001
) -> None:
    for active in codes_of(family):
        root = drawn(family, active=active, mirrored=mirrored)
        groups = groups_in(root)
        assert [code for code, group in groups.items() if group.get("class") == "pom is-active"] == [active]
        assert all(group.get("class") == "pom" for code, group in groups.items() if code != active)
        marked = groups[active]
        assert root[-1] is marked
        assert float(marked.get("stroke-width", "0")) > 2 * float(root.get("stroke-width", "0"))
        fills = {element.get("class"): element.get("fill") for element in marked.iter()}
        assert (fills["pom-box"], fills["pom-code"]) == ("currentColor", "white")


@every_family
def test_with_nothing_active_no_label_is_filled(family: str) -> None:
    root = drawn(family)
    assert root.get("fill") == "none"
    assert {box.get("fill") for box in root.iter(f"{SVG}rect")} == {None}


@every_family
@both_sides
def test_all_text_stands_upright(family: str, mirrored: bool) -> None:  # noqa: FBT001
    texts = [entry for entry in placed(drawn(family, mirrored=mirrored)) if entry[0].tag == f"{SVG}text"]
    assert len(texts) > len(codes_of(family))
    assert {scale for _, scale, _, _ in texts} == {1.0}


@every_family
def test_the_right_side_is_the_mirror_image_of_the_left(family: str) -> None:
    left, right = (
        {text.text: (x, y) for text, _, x, y in placed(drawn(family, mirrored=mirrored)) if text.text}
        for mirrored in (False, True)
    )
    for code in codes_of(family):
        assert right[code] == pytest.approx((WIDTH - left[code][0], left[code][1]), abs=1e-9)


@every_family
@both_sides
def test_no_label_covers_another_or_leaves_the_paper(family: str, mirrored: bool) -> None:  # noqa: FBT001
    root = drawn(family, mirrored=mirrored)
    left, top, width, height = (float(number) for number in root.get("viewBox", "").split())
    boxes = [
        (x, y, float(box.get("width", "0")) / 2, float(box.get("height", "0")) / 2)
        for box, _, x, y in placed(root)
        if box.tag == f"{SVG}rect"
    ]
    assert len(boxes) == len(codes_of(family))
    for x, y, half_width, half_height in boxes:
        assert left <= x - half_width < x + half_width <= left + width
        assert top <= y - half_height < y + half_height <= top + height
    for (x1, y1, w1, h1), (x2, y2, w2, h2) in itertools.combinations(boxes, 2):
        assert abs(x1 - x2) >= w1 + w2 or abs(y1 - y2) >= h1 + h2, f"labels meet near {x1:.0f}, {y1:.0f}"


@every_family
@both_sides
def test_nothing_in_a_drawing_offends_a_strict_content_policy(family: str, mirrored: bool) -> None:  # noqa: FBT001
    for element in drawn(family, active=codes_of(family)[0], mirrored=mirrored).iter():
        assert element.tag.removeprefix(SVG) in {"svg", "title", "g", "path", "circle", "rect", "text"}
        for attribute in element.attrib:
            assert attribute not in {"style", "id", "href"}
            assert not attribute.startswith("on")


@every_family
def test_the_drawing_has_a_name_that_tells_garment_side_and_marked_point(family: str) -> None:
    first = catalogue.points_of(family)[0]
    root = drawn(family, active=first.code, mirrored=True)
    title = root.findtext(f"{SVG}title") or ""
    assert root.get("role") == "img"
    assert title.endswith(f"{first.name} ({first.code}) marked")
    assert ("right half" in title) == (catalogue.FAMILIES[family].group == "laced")


@pytest.mark.parametrize("family", ["laced_underbust", "laced_overbust"])
@pytest.mark.parametrize(("mirrored", "says"), [(False, "left half, as worn"), (True, "right half, as worn")])
def test_a_half_says_which_half_it_is(family: str, mirrored: bool, says: str) -> None:  # noqa: FBT001
    root = drawn(family, mirrored=mirrored)
    halves = [text.text for text in root.iter(f"{SVG}text") if "half, as worn" in (text.text or "")]
    assert halves == [says]
    assert not [element for element in root.iter() if element.get("display") == "none"]


@pytest.mark.parametrize("family", ["bodice", "waistcoat", "jacket"])
@both_sides
def test_the_wearers_left_stays_on_the_viewers_right(family: str, mirrored: bool) -> None:  # noqa: FBT001
    where = {text.text: x for text, _, x, _ in placed(drawn(family, mirrored=mirrored))}
    assert where["left, as worn"] > WIDTH / 2 > where["right, as worn"]


def test_the_key_to_dashed_lines_is_shown_only_with_a_point_on_the_back() -> None:
    key = "dashed: measured on the back"
    assert key in drawing.render("jacket", active=None, codes=["HC", "CB"])
    assert key not in drawing.render("jacket", active=None, codes=["HC", "HW"])


@every_family
def test_the_file_itself_can_be_put_into_a_page(family: str) -> None:
    text = render_to_string(f"inventory/drawings/{family}.svg")
    assert set(groups_in(parsed(text))) == set(codes_of(family))


def test_an_unknown_family_is_refused_by_name() -> None:
    with pytest.raises(catalogue.UnknownFamily, match='"cape"'):
        drawing.render("cape", active=None, codes=())


def test_a_point_without_a_place_in_the_drawing_is_refused_by_name() -> None:
    with pytest.raises(catalogue.UnknownPoint, match='family "bodice" has no point "SL"'):
        drawing.render("bodice", active=None, codes=["HC", "SL"])


def test_marking_a_point_that_is_not_shown_is_refused_by_name() -> None:
    with pytest.raises(catalogue.UnknownPoint, match=r'no point "HW". Choose one of HC\.'):
        drawing.render("bodice", active="HW", codes=["HC"])


def test_drawing_one_point_leaves_the_next_drawing_untouched() -> None:
    plain = drawing.render("jacket", active=None, codes=["HC", "HW"])
    drawing.render("jacket", active="HW", codes=["HC", "HW"], mirrored=True)
    drawing._render.cache_clear()
    assert drawing.render("jacket", active=None, codes=["HC", "HW"]) == plain


def test_a_drawing_has_no_prefixes_whatever_other_libraries_do(monkeypatch: pytest.MonkeyPatch) -> None:
    # As reading a spreadsheet does: the empty prefix is taken for another vocabulary.
    monkeypatch.setattr(ET, "_namespace_map", {"http://example.org/sheet": ""})
    drawing._render.cache_clear()
    art = drawing.render("jacket", active="HC", codes={"HC", "CB"})
    assert art.startswith("<svg")
    assert 'xmlns="http://www.w3.org/2000/svg"' in art
    assert "ns0" not in art
