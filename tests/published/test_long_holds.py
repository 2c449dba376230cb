"""A small load for an hour: what people lost, beside what the fatigue sets say."""

from paddlebal.fatigue import fatigue_course, fatigue_sets
from paddlebal.files.published import published_rows


def test_held_for_ever_by_every_set_yet_each_tires_more_than_people_did():
    """Sjøgaard et al. (1986), abstract: 5 % for 1 h, knee extensors, 12 % of strength lost."""
    (row,) = published_rows("long_holds", ["load", "duration_s", "strength_lost"])
    for rates in fatigue_sets():
        course = fatigue_course(row["load"], rates, row["duration_s"])
        assert course.failed_at > row["duration_s"]
        assert course.fatigued[-1] > 2 * row["strength_lost"]
