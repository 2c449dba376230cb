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


@pytest.mark.parametrize("text", ["1,375", "1375", "1,375.0", "1,375 g·mm", "1375,2"])
def test_the_panels_own_style_of_number_is_understood(text):
    assert Exercise("How large?", 1375.0, "g·mm", "Multiply.").verdict(text) == "Right."


@pytest.mark.parametrize("text", ["1,375", "1.375", "1.375 kg"])
def test_a_decimal_comma_is_understood_too(text):
    assert Exercise("How heavy?", 1.375, "kg", "Weigh it.").verdict(text) == "Right."


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("0.25", "sign is not"),
        ("-0.5", "Twice as much"),
        ("-0.125", "Half of it"),
        ("-250", "A thousand times too much"),
        ("-0.00025", "A thousand times too little"),
        ("-14.324", "Degrees stand where radians belong"),
        ("-0.0255", "Standard gravity is missing"),
        ("-0.265", "Close"),
        ("7", "sign is the other way round"),
        ("-7", "Look at each step again"),
        ("inf", "finite"),
    ],
)
def test_each_slip_has_its_own_hint(exercise, text, hint):
    assert hint in exercise.verdict(text)


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
