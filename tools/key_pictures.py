"""The coach's three key pictures, drawn from the demo ocean paddle; the first is the README's."""

from dataclasses import replace
from pathlib import Path

from paddlebal import load_paddle
from paddlebal.files.text import data_path
from paddlebal.live import still
from paddlebal.live.hour import live_hour
from paddlebal.live.static import live_static
from paddlebal.live.stroke import live_stroke


def why_it_rolls(paddle):
    """The paddle end-on at the control hand's catch, and the torque at every roll angle."""
    whole = live_static([paddle])
    return replace(whole, views=whole.views[:2], turn=None)


def what_a_stroke_takes(paddle):
    """Roll torque through a stroke and its sums, without and with a counterweight of 200 g."""
    return live_stroke([paddle], "ocean preset")


def what_the_hand_holds(paddle):
    """An hour's load on the hand, without a counterweight and with half the balance."""
    return live_hour([paddle])


KEY_PICTURES = (why_it_rolls, what_a_stroke_takes, what_the_hand_holds)


def save_key_pictures(folder):
    """Write each key picture as a PDF with embedded fonts; return the paths."""
    paddle = load_paddle(data_path("paddles", "ocean.toml"))
    paths = []
    for make in KEY_PICTURES:
        paths.append(Path(folder) / f"{make.__name__}.pdf")
        paths[-1].write_bytes(still.pdf(make(paddle)))
    return paths


if __name__ == "__main__":
    target = data_path("pictures", "end_on.png")
    target.parent.mkdir(exist_ok=True)
    target.write_bytes(still.png(why_it_rolls(load_paddle(data_path("paddles", "ocean.toml")))))
    print(target.relative_to(Path.cwd()))
