import ipywidgets as widgets
import pytest

from paddlebal.panels.exercises import Exercise


@pytest.fixture
def exercise():
    return Exercise("How strong is the pull?", -0.25, "N·m", "Weight times arm.")


@pytest.mark.parametrize("text", ["-0.25", " -0.251 ", "-0,25", "\N{MINUS SIGN}0.25", "-2.5e-1"])
def test_a_number_within_tolerance_is_right(exercise, text):
    assert exercise.verdict(text) == "Right."


@pytest.mark.parametrize("text", ["0.25", "-0.26", "inf", "nan"])
def test_other_numbers_are_not(exercise, text):
    assert exercise.verdict(text).startswith("Not yet")


@pytest.mark.parametrize("text", ["", "a lot", "1 2", "<b>"])
def test_what_is_no_number_gets_a_hint(exercise, text):
    assert exercise.verdict(text) == "Please type one number, such as 0.15."


def test_a_zero_answer_has_a_tolerance_too():
    zero = Exercise("What is left?", 0.0, "g·mm", "Nothing.", tolerance=0.01)
    assert zero.verdict("0.009") == "Right."
    assert zero.verdict("0.011") != "Right."


def test_the_stored_form_folds_the_answer_and_escapes_the_text():
    shown = Exercise("Is 1 < 2?", 1.0, "", "Yes & always.")._repr_mimebundle_()["text/html"]
    assert "1 &lt; 2" in shown and "Yes &amp; always." in shown
    assert shown.index("<details>") < shown.index("<b>1</b>")


def test_the_button_answers_what_was_typed(exercise):
    (entry,) = (w for w in exercise.children[1].children if isinstance(w, widgets.Text))
    (button,) = (w for w in exercise.children[1].children if isinstance(w, widgets.Button))
    entry.value = "0.25"
    button.click()
    assert "Not yet" in exercise.children[1].children[-1].value
    entry.value = "-0.25"
    assert "Right" in exercise.children[1].children[-1].value
