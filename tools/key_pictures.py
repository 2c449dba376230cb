"""The coach's three key pictures, drawn from the demo ocean paddle; the first is the README's."""

from pathlib import Path

from paddlebal import OCEAN, compare_strokes, load_paddle, rest_angle, roll_torque
from paddlebal.files.text import data_path
from paddlebal.grip import friction_range, strength_range
from paddlebal.holding import part_balanced
from paddlebal.live.stroke import largest_shown
from paddlebal.panels.grip import chain_picture, chain_rows
from paddlebal.pictures.balance import EndOnPicture
from paddlebal.pictures.stroke import StrokePicture
from paddlebal.placement import fitted_pair
from paddlebal.unbalance import catch_torque, magnitude
from paddlebal.units import STANDARD_GRAVITY


def why_it_rolls(paddle):
    """The paddle end-on at the control hand's catch, and the torque at every roll angle."""
    U = paddle.unbalance()
    size = float(magnitude(U))
    picture = EndOnPicture(size, STANDARD_GRAVITY * size)
    picture.update(paddle, 0.0, U, lambda theta: roll_torque(U, theta), float(rest_angle(U)))
    return picture.figure


def what_a_stroke_takes(paddle):
    """Roll torque through a stroke and its sums, without and with a counterweight of 200 g."""
    comparison = compare_strokes(paddle, fitted_pair(paddle, 0.2), OCEAN.motion(paddle))
    picture = StrokePicture()
    picture.scale(*largest_shown(paddle, OCEAN))
    picture.update(comparison)
    return picture.figure


def what_the_hand_holds(paddle):
    """From torque to share of strength, without a counterweight and with half the balance."""
    torques = [catch_torque(each) for each in (part_balanced(paddle, 0.5), paddle)]
    friction, strength = friction_range("dry"), strength_range("woman", 40)
    picture = chain_picture(present="half of it balanced")
    diameter = 2 * paddle.shaft.radius
    picture.update(chain_rows(torques, diameter, friction, strength, "at the catch"))
    return picture.figure


KEY_PICTURES = (why_it_rolls, what_a_stroke_takes, what_the_hand_holds)


def save_key_pictures(folder):
    """Write each key picture as a PDF with embedded fonts; return the paths."""
    from matplotlib import rc_context

    paddle = load_paddle(data_path("paddles", "ocean.toml"))
    paths = []
    with rc_context({"pdf.fonttype": 42}):
        for draw in KEY_PICTURES:
            paths.append(Path(folder) / f"{draw.__name__}.pdf")
            draw(paddle).savefig(paths[-1], metadata={"CreationDate": None})
    return paths


if __name__ == "__main__":
    target = data_path("pictures", "end_on.png")
    target.parent.mkdir(exist_ok=True)
    why_it_rolls(load_paddle(data_path("paddles", "ocean.toml"))).savefig(target)
    print(target.relative_to(Path.cwd()))
