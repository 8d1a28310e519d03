"""Linkages of plausible bikes, invented: points from the bottom bracket [m]."""

from __future__ import annotations

LINKAGES = {
    "single-pivot": {
        "pivot": (0.010, 0.070),
        "axle": (-0.440, 0.030),
        "shock_frame": (0.185, 0.260),
        "shock_arm": (-0.020, 0.235),
    },
    "rocker": {
        "pivot": (0.010, 0.060),
        "axle": (-0.440, 0.030),
        "link_arm": (-0.120, 0.200),
        "link_rocker": (-0.060, 0.330),
        "rocker_pivot": (0.000, 0.300),
        "shock_rocker": (0.060, 0.320),
        "shock_frame": (0.090, 0.120),
    },
    "four-bar": {
        "pivot": (-0.020, 0.050),
        "stay_pivot": (-0.400, 0.020),
        "axle": (-0.435, 0.035),
        "rocker_stay": (-0.065, 0.340),
        "rocker_pivot": (0.000, 0.270),
        "shock_rocker": (0.038, 0.312),
        "shock_frame": (0.095, 0.100),
    },
    "twin-link": {
        "lower_frame": (0.030, 0.050),
        "lower_rear": (-0.030, 0.040),
        "axle": (-0.435, 0.035),
        "upper_frame": (0.020, 0.265),
        "upper_rear": (-0.060, 0.300),
        "shock_upper": (0.0735, 0.292),
        "shock_frame": (0.075, 0.080),
    },
    # both ends of the shock move: between seat stay and chain stay
    "floating": {
        "pivot": (-0.020, 0.050),
        "stay_pivot": (-0.400, 0.020),
        "axle": (-0.435, 0.035),
        "rocker_stay": (-0.065, 0.340),
        "rocker_pivot": (0.000, 0.270),
        "shock_rocker": (0.050, 0.292),
        "shock_arm": (-0.050, 0.045),
    },
}
KINDS = {name: name if name != "floating" else "four-bar" for name in LINKAGES}
TRAVEL = 0.130
