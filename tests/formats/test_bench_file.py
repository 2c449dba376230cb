"""Bench files: the same readings in any clothes, and a sentence for each thing wrong."""

import numpy as np
import pytest

from paddlebal import InputError, read_bench
from paddlebal.units import STANDARD_GRAVITY

HEAD = """\
# method = "lever"
# support = "rollers"
# pull_direction = "vertical"
# radius_mm = 14.6
# scale_u_N = 0.01
# angle_u_deg = 0.3
# arm_u_mm = 0.5
# angle_zero_u_deg = 0.2
"""
ROWS = """\
roll [deg],arm [mm],pull [N],turning
0,200,0.81,with
0,200,0.77,against
90,-200,0.55,with
90,-200,0.49,against
"""
LEVER = HEAD + ROWS


def written(tmp_path, text):
    path = tmp_path / "bench.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def in_units(angle, deg, length, mm, force, newton):
    """The same file in other units, and with its columns in another order."""
    rows = f"pull [{force}],arm [{length}],turning,roll [{angle}]\n"
    for row in ROWS.splitlines()[1:]:
        a, b, c, word = row.split(",")
        rows += f"{float(c) / newton!r},{float(b) / mm!r},{word},{float(a) / deg!r}\n"
    return HEAD + rows


@pytest.mark.parametrize(
    "text",
    [
        LEVER.replace("\n", "\r\n"),
        "\ufeff" + LEVER,
        HEAD + ROWS.replace(",", ";"),
        HEAD + ROWS.replace(",", "\t"),
        LEVER.rstrip("\n"),
        LEVER + "\n\n",
        "\n" + HEAD + "\n  \n" + ROWS.replace(",", ";"),
        "# # a remark\n" + LEVER.replace("# ", " #"),
        LEVER.replace("roll [deg],arm [mm]", ' Roll [ deg ] , "arm [mm]"').replace(
            "with", " With "
        ),
        in_units("deg", 1, "cm", 10, "kgf", STANDARD_GRAVITY),
        in_units("rad", 180 / np.pi, "in", 25.4, "g", STANDARD_GRAVITY / 1000),
        in_units("turn", 360, "m", 1000, "lbf", 0.45359237 * STANDARD_GRAVITY),
    ],
)
def test_the_same_readings_in_other_clothes(tmp_path, text):
    readings = read_bench(written(tmp_path, text))
    assert readings.roll == pytest.approx(np.radians([0, 0, 90, 90]))
    assert readings.arm == pytest.approx([0.2, 0.2, -0.2, -0.2])
    assert readings.pull == pytest.approx([0.81, 0.77, 0.55, 0.49])
    assert list(readings.turning) == [1, -1, 1, -1]


def changed(old, new):
    assert old in LEVER
    return LEVER.replace(old, new, 1)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (changed("pull [N]", "pull"), "row 9, field 'pull': has no unit, expected a force"),
        (
            changed("pull [N]", "pull [mm]"),
            r"row 9, field 'pull': has the unit \[mm\], expected a f",
        ),
        (changed("pull [N]", "pull [foo]"), r"field 'pull': has the unknown unit \[foo\]"),
        (changed("arm [mm]", "arm [9**9**9]"), "field 'arm': has the unknown unit"),
        (
            changed("roll [deg]", "roll [Grad]"),
            "row 12, field 'roll': is '90', expected an angle within ten turns",
        ),
        (changed("arm [mm]", "arm [g]"), r"field 'arm': has the unit \[g\], expected a length"),
        (changed("roll [deg]", "roll [%]"), r"field 'roll': has the unit \[%\], expected an angle"),
        (
            changed("turning", "turning [N]"),
            r"field 'turning': has the unit \[N\], expected no unit",
        ),
        (changed("0.77", "nan"), "row 11, field 'pull': is 'nan', expected a finite number"),
        (changed("0.77", "inf"), "row 11, field 'pull': is 'inf', expected a pull"),
        (changed("0.77", " "), "row 11, field 'pull': is blank, expected a number"),
        (changed("0.77", "0.7x"), "row 11, field 'pull': is '0.7x', expected a finite number"),
        (changed("0.77", "0,77"), "row 11: has 5 fields, expected 4 .*decimal comma"),
        (
            HEAD + ROWS.replace(",", ";").replace("0.77", "0,77"),
            "row 11, field 'pull': is '0,77', expected .* with a decimal point",
        ),
        (changed("arm [mm],", ""), "field 'arm': is missing.*a force without its arm is no moment"),
        (
            changed("0,200,0.81", "0,0,0.81"),
            "row 10, field 'arm': is '0', expected an arm other than",
        ),
        (changed("arm [mm]", "roll [deg]"), "row 9, field 'roll': stands twice"),
        (changed("arm [mm]", "lever [mm]"), "row 9, field 'lever': is not a known column"),
        (changed("0,200,0.77,against", "0,200"), "row 11: has 2 fields, expected 4 .*cut short"),
        (LEVER[:-4], "row 13, field 'turning': is 'agai', expected 'with' or 'against'"),
        (LEVER[:-13], "row 13: has 3 fields, expected 4 .*cut short"),
        (
            changed("against", "up"),
            "row 11, field 'turning': is 'up', expected 'with' or 'against'",
        ),
        (changed("0.77", '"0.77'), "is not a complete CSV row"),
        (
            LEVER.encode().replace(b"against", "für".encode("latin-1")),
            "row 11, field 'turning': is 'für'",
        ),
        (LEVER.encode("utf-32"), "is no text and no spreadsheet"),
        ("", "is empty, expected a bench file"),
        ("\n\n", "is empty, expected a bench file"),
        (HEAD, "field 'roll': is missing"),
        (HEAD + ROWS.splitlines()[0], "has no readings, expected rows below the column names"),
        (
            ROWS,
            "field 'method': is missing, expected 'lever' or 'swing' or 'swing record' or 'add-on'",
        ),
        (
            changed('"lever"', '"scales"'),
            "field 'method': is 'scales', expected 'lever' or 'swing'",
        ),
        (changed('"lever"', "lever"), "lines starting with '#' are not complete, valid TOML"),
        (changed("# scale_u_N = 0.01\n", ""), "field 'scale_u_N': is missing, expected a number"),
        (
            changed("scale_u_N = 0.01", "scale_u_N = 0"),
            "'scale_u_N': is 0, expected .* at least 1e-06",
        ),
        (changed("arm_u_mm = 0.5", "arm_u_mm = -1"), "'arm_u_mm': is -1, expected .* at least 0"),
        (changed("# arm_u_mm", "# arm_u_cm"), "field 'arm_u_mm': is missing"),
        (
            changed("# arm_u", "# clamp_mass_g = 80\n# clamp_arm_u_mm = 1\n# arm_u"),
            "field 'clamp_arm_mm': is missing, expected a number.$",
        ),
        (changed("# arm_u", "# colour = 1\n# arm_u"), "field 'colour': is not a known field"),
        (changed('"rollers"', '"knives"'), "'support': is 'knives', expected 'rollers' or 'rails'"),
    ],
)
def test_a_bad_file_is_told_in_one_sentence(tmp_path, text, sentence):
    path = written(tmp_path, text)
    with pytest.raises(InputError, match=sentence) as caught:
        read_bench(path)
    told = str(caught.value)
    assert told.startswith(str(path))
    assert told.endswith(".")
    assert "\n" not in told


def test_a_file_that_cannot_be_read_is_told(tmp_path):
    with pytest.raises(InputError, match="cannot be read"):
        read_bench(tmp_path / "none.csv")
    with pytest.raises(InputError, match="cannot be read"):
        read_bench(tmp_path)


def test_the_mean_of_first_and_last_amplitude_is_taken(tmp_path):
    head = '# method = "swing"\n# support = "rails"\n# time_u_s = 0.05\n# amplitude_u_deg = 1\n'
    both = "amplitude [deg],end amplitude [deg],periods,time [s]\n50,30,5,2.6\n"
    readings = read_bench(written(tmp_path, head + both))
    assert readings.amplitude == pytest.approx(np.radians([40]))
    first = "amplitude [deg],periods,time [ms]\n50,5,2600\n"
    readings = read_bench(written(tmp_path, head + first))
    assert readings.amplitude == pytest.approx(np.radians([50]))
    assert readings.time == pytest.approx([2.6])
    with pytest.raises(InputError, match="row 6, field 'amplitude': is '190', expected an angle"):
        read_bench(written(tmp_path, head + first.replace("50,", "190,")))
