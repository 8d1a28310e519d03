"""Findings by their plain title: what clashes, in a few words."""

from __future__ import annotations

TITLES = {
    "axle-diameter": "Axle of another diameter",
    "axle-head": "Axle head and seat do not match",
    "axle-length": "Axle of another length",
    "axle-pitch": "Axle with another thread",
    "axle-width": "Hub of another width",
    "bar-clamp": "Stem and bar do not match",
    "bar-width": "Bar cut too narrow",
    "brake-fluid-parts": "Lever and caliper take different fluids",
    "brake-fluids": "Front and rear take different fluids",
    "brake-hands": "Brakes on the other hands",
    "carbon-limit": "A carbon part's own torque limit",
    "chain-odd": "Chain of an odd number of links",
    "chain-short": "Chain too short at full travel",
    "chart-pressure": "Chart above the pressure limit",
    "clamp-holds-less": "Clamp may not hold at its torque",
    "derailleur-capacity": "Derailleur cannot take up the chain",
    "drive-law": "What the law says of this drive",
    "drive-out-of-scope": "A drive Cyclewright does not plan",
    "drive-unknown": "No law on file for this drive",
    "dropper-too-long": "Dropper too long for this rider",
    "dry-thread": "Thread to be set dry",
    "fork-length": "Fork of another length",
    "frame-mark": "What is marked on the bike",
    "geometry-closure": "Frame figures do not fit together",
    "grip-height": "Grips out of the rider's reach",
    "hex-key": "Key of another size",
    "hire-hands": "Hire bike with its brakes the other way",
    "hookless-not-approved": "Tyre not approved without hooks",
    "hose-fluid": "Hose made for another fluid",
    "legal-fittings": "What the law wants on the bike",
    "leverage-table": "Leverage table does not fit the travel",
    "mass-limit": "Over the mass limit",
    "no-saddle-height": "No saddle height that all limits allow",
    "no-tyre-pressure": "No tyre pressure that all limits allow",
    "pedal-thread": "Pedal thread of the wrong hand",
    "pivots-stroke": "Pivots and stroke do not fit the travel",
    "place-hands": "The country has its own hand",
    "post-diameter": "Post of another diameter",
    "post-mark": "Insertion mark too low for this country",
    "post-too-long": "Post too long for this rider",
    "post-too-short": "Post too short for this rider",
    "rail-height": "Saddle rails of another height",
    "rail-shape": "Saddle rails the clamp is not made for",
    "rotor-adapter": "Another adapter for this rotor",
    "rotor-mount": "Rotor and hub do not match",
    "rotor-size": "Rotor larger than allowed",
    "rotor-thickness": "Rotor worn thin",
    "spacer-over-carbon": "Spacer needed above the stem",
    "speeds": "Shifter, cassette and chain disagree",
    "spokes": "Spokes and holes do not match",
    "steerer-clamp": "Stem and steerer do not match",
    "steerer-gap": "Gap above the steerer",
    "steerer-length": "Two figures for the gap above the steerer",
    "steerer-stack": "Too many spacers for this steerer",
    "steerer-stack-low": "Too few spacers under the stem",
    "torque-clash": "Two torques with nothing in common",
    "torque-tool-calibration": "Torque tool due for its test",
    "torque-tool-empties-overlap": "Torque window narrower than the tool",
    "torque-tool-range": "No kept tool reaches the torque",
    "travel-stroke": "Travel and stroke do not fit",
    "tyre-bead": "Tyre for another rim size",
    "tyre-clearance": "Tyre too close to the frame or fork",
    "tyre-hookless": "Tyre on a rim without hooks",
    "tyre-pressure-window": "Tyre and rim pressures do not meet",
    "tyre-rim-width": "Tyre and rim width do not match",
    "use-class": "Ridden harder than it is made for",
}
ENDS = {
    "eye-to-eye": "measured between other points",
    "no-coil": "no coil that is sold fits",
    "not-equalised": "chambers not levelled out",
    "not-fully-extended": "not fully extended",
    "off-chart": "rider off the maker's chart",
    "other-posture": "read in another posture",
    "out-of-reach": "position out of this rider's reach",
    "preload": "too much preload",
    "pressure-limit": "held by its pressure limit",
}
"""What is said of a part or posture whose name stands before."""


def title(code: str) -> str:
    """A finding's title.

    >>> title("torque-tool-empties-overlap")
    'Torque window narrower than the tool'
    >>> title("fork-off-chart")
    "Fork: rider off the maker's chart"
    """
    if code in TITLES:
        return TITLES[code]
    tail = next((tail for tail in ENDS if code.endswith(f"-{tail}")), None)
    if tail is not None:
        return f"{code.removesuffix(f'-{tail}').replace('-', ' ').capitalize()}: {ENDS[tail]}"
    return code.replace("-", " ").capitalize()
