"""The unit of a DXF: stated, doubted or asked for."""

import math
from pathlib import Path

import ezdxf
import pytest

from app.files.drawing_units import UnitQuestion
from geometry.errors import InputError
from tests.app.dxf_hands import BAR, bar, read

# Millimetres in a unit of $INSUNITS, by the DXF reference's list and these definitions: inch, foot,
# mile 25.4, 304.8, 1 609 344; micro-inch and mil a millionth and thousandth of an inch; yard three
# feet; the metre's powers; astronomical unit 149 597 870 700 m (IAU 2012); light year
# 9 460 730 472 580 800 m; parsec 648 000 / pi astronomical units; US survey foot 1200 / 3937 m.
SURVEY_FT = 1_200_000 / 3937
MM_PER_CODE = {
    1: 25.4, 2: 304.8, 3: 1_609_344, 4: 1, 5: 10, 6: 1000, 7: 1e6, 8: 25.4e-6, 9: 25.4e-3,
    10: 914.4, 11: 1e-7, 12: 1e-6, 13: 1e-3, 14: 100, 15: 1e4, 16: 1e5, 17: 1e12,
    18: 149_597_870_700e3, 19: 9_460_730_472_580_800e3, 20: 648_000 / math.pi * 149_597_870_700e3,
    21: SURVEY_FT, 22: SURVEY_FT / 12, 23: 3 * SURVEY_FT, 24: 5280 * SURVEY_FT,
}  # fmt: skip


@pytest.mark.parametrize("code", MM_PER_CODE)
def test_every_unit_that_a_file_can_state_is_known(tmp_path: Path, code: int) -> None:
    document = ezdxf.new("R2000", units=code)
    document.header["$INSUNITS"] = code
    bar(document.modelspace(), [(x / MM_PER_CODE[code], y / MM_PER_CODE[code]) for x, y in BAR])
    outline = read(document, tmp_path).outline
    assert outline.bounds_mm == pytest.approx((0, 0, 120, 30), rel=1e-6, abs=1e-6)


@pytest.mark.parametrize("code", MM_PER_CODE)
def test_a_stated_unit_that_cannot_be_is_asked_about(tmp_path: Path, code: int) -> None:
    """120 of anything but mm, cm and dm is no knife; an inch makes 3 m of it."""
    document = ezdxf.new("R2000", units=code)
    document.header["$INSUNITS"] = code
    bar(document.modelspace())
    if code in (4, 5):
        assert read(document, tmp_path).outline.bounds_mm[2] == pytest.approx(
            120 * (1, 10)[code - 4]
        )
        return
    with pytest.raises(UnitQuestion, match="no knife's size") as asked:
        read(document, tmp_path)
    assert "\n" not in str(asked.value)
    assert asked.value.sizes["mm"] == pytest.approx((120, 30), rel=1e-6)
    assert asked.value.likely[0] == "mm"
    assert read(document, tmp_path, "mm").outline.bounds_mm[2] == pytest.approx(120)


def test_a_unit_is_proposed_by_size(tmp_path: Path) -> None:
    """0.3 long: 300 mm if metres; 12 long: 305 mm if inches, or 120 mm if centimetres."""
    for length, likely in ((300.0, "mm"), (0.3, "m"), (12.0, "in")):
        document = ezdxf.new("R2000", units=0)
        document.header["$MEASUREMENT"] = 0
        bar(document.modelspace(), [(0, 0), (length, 0), (length, length / 8), (0, length / 8)])
        with pytest.raises(UnitQuestion) as asked:
            read(document, tmp_path)
        assert asked.value.likely[0] == likely


def test_inches_stated_beside_metric_dashes_are_doubted_where_they_make_a_sword(
    tmp_path: Path,
) -> None:
    """40 inches are 1016 mm: credible in an imperial drawing, doubted in a metric one."""
    for metric in (0, 1):
        document = ezdxf.new("R2000", units=1)
        document.header["$MEASUREMENT"] = metric
        bar(document.modelspace(), [(0, 0), (40, 0), (40, 8), (0, 8)])
        if metric:
            with pytest.raises(UnitQuestion, match="inches"):
                read(document, tmp_path)
        else:
            assert read(document, tmp_path).outline.bounds_mm[2] == pytest.approx(1016)


@pytest.mark.parametrize(
    ("code", "length", "shorter"),
    [
        (1, 30.0, "30.00 x 6.00 mm if in mm or 300.00 x 60.00 mm if in cm"),  # 762 mm
        (1, 59.0, "59.00 x 11.80 mm if in mm or 590.00 x 118.00 mm if in cm"),  # 1498.6 mm
        (5, 120.0, "120.00 x 24.00 mm if in mm"),  # 1200 mm
        (1, 23.0, ""),  # 584 mm: a long knife
        (4, 800.0, ""),  # of no other unit
        (4, 59.0, ""),
    ],
)
def test_what_is_longer_than_knives_by_its_unit_and_not_by_another_is_doubted(
    tmp_path: Path, code: int, length: float, shorter: str
) -> None:
    document = ezdxf.new("R2000", units=code)
    document.header["$INSUNITS"] = code
    document.header["$MEASUREMENT"] = int(code != 1)
    bar(document.modelspace(), [(0, 0), (length, 0), (length, length / 5), (0, length / 5)])
    found = read(document, tmp_path)
    assert found.outline.bounds_mm[2] == pytest.approx(length * MM_PER_CODE[code])
    assert len(found.notes) == bool(shorter)
    if shorter:
        assert f"longer than most knives; it is {shorter}. If so" in found.notes[0]
    assert not read(document, tmp_path, "mm").notes


def test_metres_are_believed_only_of_a_usual_knife(tmp_path: Path) -> None:
    """Programs that were told nothing write metres: 0.3 is a knife, 1.2 may be of another unit."""
    for length, knife in ((0.3, True), (1.2, False)):
        document = ezdxf.new("R2000", units=6)
        bar(document.modelspace(), [(0, 0), (length, 0), (length, length / 8), (0, length / 8)])
        if knife:
            assert read(document, tmp_path).outline.bounds_mm[2] == pytest.approx(300)
        else:
            with pytest.raises(UnitQuestion, match="1200"):
                read(document, tmp_path)


def test_a_unit_that_is_none_is_said() -> None:
    from app.files.drawing_units import unit_named

    with pytest.raises(InputError, match="“furlong” is not known"):
        unit_named("furlong")
