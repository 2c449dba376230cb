"""Roll balance of wing paddles: measure the unbalance, place a counterweight, show the cost.

SI units throughout. The names below load their modules when first used, so that importing
the package costs no more than numpy.
"""

from importlib import import_module

_HOMES = {
    "Blade": "paddle",
    "Counterweight": "paddle",
    "KeepOut": "paddle",
    "Paddle": "paddle",
    "Shaft": "paddle",
    "load_paddle": "paddle",
    "save_paddle": "paddle",
    "Limits": "counterweight",
    "Placement": "counterweight",
    "cost": "counterweight",
    "place_counterweight": "counterweight",
    "split_by_halves": "counterweight",
    "trimmed": "counterweight",
    "read_bench": "readings",
    "BenchFit": "bench",
    "acceptance": "bench",
    "fit_bench": "bench",
    "fit_swing": "inertia",
    "fit_swing_record": "swing_record",
    "swing_period": "inertia",
    "endurance_band": "fatigue",
    "endurance_time": "fatigue",
    "felt_force": "grip",
    "grip_force": "grip",
    "hour_load": "grip",
    "share_of_strength": "grip",
    "OCEAN": "stroke",
    "SPRINT": "stroke",
    "Motion": "stroke",
    "Stroke": "stroke",
    "read_motion": "stroke",
    "break_even": "work",
    "compare": "work",
    "stroke_torque": "work",
    "stroke_torque_many": "work",
    "InputError": "errors",
    "problems": "checks",
    "roll_moment": "motion",
    "rest_angle": "unbalance",
    "roll_torque": "unbalance",
    "BladeShape": "blade",
    "design_map": "blade",
    "load_mesh": "mesh",
    "balance_two_planes": "two_planes",
    "fitting_sheet": "sheet",
    "EndOnPicture": "figures",
    "WholePaddle": "figures",
    "balance_panel": "panels",
    "fit_panel": "panels",
    "files_panel": "panels_files",
    "fitting_panel": "panels_fitting",
    "placement_panel": "panels",
    "static_panel": "panels",
}

__all__ = sorted(_HOMES)


def __getattr__(name):
    if name not in _HOMES:
        raise AttributeError(f"module 'paddlebal' has no attribute '{name}'")
    value = getattr(import_module(f"paddlebal.{_HOMES[name]}"), name)
    globals()[name] = value
    return value


def __dir__():
    return __all__
