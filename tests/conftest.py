"""Settings for every test: the same random examples each time, however slow the machine."""

from hypothesis import HealthCheck, settings

settings.register_profile(
    "project",
    derandomize=True,
    deadline=None,
    max_examples=40,
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("project")
