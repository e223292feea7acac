"""Every finding code: how grave it is, what it means, by which number, whose number that is, and what to do.

``ask`` findings that can be graver say so in their rule. "common practice, no source" marks a fact of the trade for which
no published figure was found; "own default" a value this project chose. The numbers themselves stand in `rules.py`.
"""

from __future__ import annotations

import difflib
from dataclasses import dataclass

from layout.rules import Severity

PRACTICE = "common practice, no source"
OWN = "own default; no published figure for wood tops was found"
GEOMETRY = "geometry"


@dataclass(frozen=True, slots=True)
class Rule:
    """A finding code's row: severity, meaning, the rule with its number, its source, and what to do.

    ``holds``: what it finds is not proven, and keeps the job from being released until it is.
    """

    severity: Severity
    meaning: str
    rule: str
    source: str
    remedy: str
    holds: bool = False


RULES = {
    "overhang-unsupported": Rule(
        "ask",
        "A part of the top stands too far beyond what carries it, and may curl, sag or break.",
        "farther than [shop] overhang_limit (8 in, 200 mm) beyond what carries it, corners kept square; stop where people sit",
        PRACTICE,
        "Put brackets, posts or panels under it; the finding brings a plan that clears it.",
    ),
    "seam-none-possible": Rule(
        "stop",
        "A leg is longer than boards are, and there is no place for a straight seam.",
        "seams keep seam_clear from cutouts and corner joints, opening_clear from openings, and leave min_piece",
        "own rule",
        "Move a cutout, ease a limit that the shop can ease, or place a seam by hand under [[joint]].",
    ),
    "piece-too-long": Rule(
        "stop",
        "A piece is longer along the grain than boards are to be had.",
        "longer than [shop] max_length (168 in, 4200 mm)",
        PRACTICE,
        "Divide it by a seam, make its corner joint possible, or raise max_length if such boards are to be had.",
    ),
    "leg-too-short": Rule(
        "stop",
        "A corner joint cannot be drawn: a leg is too short, or the two depths are too unequal for the angle.",
        "below 180 degrees the front corner's foot may not fall past the back corner on either wall",
        "geometry of the mitre",
        "Use another joint at that corner, lengthen the leg, or bring the depths nearer to each other.",
    ),
    "joint-through-cutout": Rule(
        "stop",
        "The joint at a corner would run through a sink that lies across it.",
        "no corner joint through a cutout across that corner, but for a column's",
        GEOMETRY,
        "Use a butt that lies beyond the sink; the finding says which and how far.",
    ),
    "piece-too-wide": Rule(
        "ask",
        "A piece is wider across the grain than the widest glued blank.",
        "wider than [shop] max_width (48 in, 1200 mm)",
        OWN,
        "Ask the shop, turn the grain, or divide the top.",
    ),
    "web-too-thin": Rule(
        "ask",
        "Too little wood is left beside a cutout, or at a neck of the outline: it may split when it moves or is carried.",
        "less than [shop] web: front 3, back 2, end 4, between 4, joint 2, hole 3/4 in; stop under half",
        OWN,
        "Move or shrink the cutout, or ask the shop.",
    ),
    "cutout-outside": Rule(
        "stop",
        "A cutout is not wholly inside its top.",
        "no part of it beyond the top's edges",
        GEOMETRY,
        "Check its station, setback and size against the sketch.",
    ),
    "cutouts-overlap": Rule(
        "stop", "Two cutouts overlap.", "no shared area", GEOMETRY, "Move one of them, or make one cutout of both."
    ),
    "tops-overlap": Rule(
        "stop",
        "Two tops lie over one another.",
        "no shared area",
        GEOMETRY,
        "Move one of them, shorten a leg, or make them one run.",
    ),
    "corner-too-tight": Rule(
        "ask",
        "An inside corner is tighter than the router bit can cut.",
        "a radius below half of [shop] tool_diameter (1/2 in, 12 mm)",
        "geometry of the bit",
        "Give the corner the bit's radius or more, or have it squared by hand.",
    ),
    "thickness-out-of-range": Rule(
        "stop",
        "The construction is not made in this thickness.",
        "face grain 1 1/4 to 2 1/2, edge grain 1 to 6, end grain 1 1/4 to 6 in",
        PRACTICE,
        "Choose a thickness in the range, or another construction.",
    ),
    "end-grain-needs-room": Rule(
        "ask",
        "End grain between two walls swells along its length and has too little room.",
        "1/8 in for every 48 in of length, gaps of both ends together",
        PRACTICE,
        "Raise wall_gap and cover it with a splash.",
    ),
    "measure-disagrees": Rule(
        "ask",
        "A check measure differs from what the walls as listed give.",
        "more than 1/4 in (6 mm)",
        OWN,
        "Tape it again together with the walls and corners between its two points.",
    ),
    "walls-do-not-close": Rule(
        "ask",
        "The last wall of a closed room does not end where the first starts.",
        "more than 1/4 in (6 mm)",
        OWN,
        "Tape the walls and corners again; a diagonal as a check measure shows which is off.",
    ),
    "support-not-given": Rule(
        "ask",
        "An outline does not say what carries it, and is taken as carried everywhere.",
        "an outline without support",
        "own rule",
        "Give the outline of what is below it under support.",
    ),
    "cutout-unproven": Rule(
        "ask",
        "A cutout's size is not proven: it comes from a sketch, or nothing is said of where it comes from.",
        'proof is "sketch" or left out; nothing is released before it is proven',
        PRACTICE,
        "Get the maker's template or specification sheet, and say so under proof.",
        holds=True,
    ),
    "reveal-not-given": Rule(
        "ask",
        "An undermount sink's cutout is drawn, but not how the top's edge stands to the bowl.",
        "a proven undermount without reveal (above 0: the top stands over the bowl, below: back from it); nothing is released before",
        "own rule; reveals from -3/8 to +3/8 in are seen, and the sink's template assumes one",
        "Ask which reveal is wanted and whether the template has it, and say so under reveal.",
        holds=True,
    ),
    "not-final-measure": Rule(
        "ask",
        "The room was not in its final state when it was measured, or nobody says that it was.",
        'walls other than "finished", or cabinets other than "set"; nothing is released before a final measure',
        PRACTICE,
        "Measure again when the walls are finished and the cabinets are set, and say so under [field].",
        holds=True,
    ),
    "end-over-opening": Rule(
        "stop",
        "An opening below reaches an exposed end, where the top has nothing to stand on.",
        "no cabinet, panel or other support between the opening and the end",
        PRACTICE,
        "Put a panel or a post at that end, or move the opening.",
    ),
    "range-fit": Rule(
        "ask",
        "The range may not stand level with the top, or its sheet is not at hand.",
        "the top's height (or cabinet 34 1/2 in plus thickness) outside top_height, or no top_height",
        "the range's own instructions",
        "Take the heights from the range's sheet into top_height; pad the cabinets or change the thickness if they differ.",
    ),
    "captive": Rule(
        "ask",
        "The top stands between walls at both ends, and the room between them at its front was not taped.",
        "walls at both ends and no check measure from one to the other before the corner",
        PRACTICE,
        "Tape from wall to wall at the front edge and give it under [[measure]].",
    ),
    "finish-not-for-sink": Rule(
        "ask",
        "The finish or the construction does not go well with standing water.",
        "mineral oil or no finish with a sink; end grain with an undermount sink",
        PRACTICE,
        "Choose the oil varnish, or a drop-in sink, or have the owner confirm the care it takes.",
    ),
    "closed-round-column": Rule(
        "stop",
        "A hole is closed round a column: the top cannot be brought to its place.",
        "a column inside one piece, with no joint through it",
        GEOMETRY,
        "Place a seam by hand through the column under [[joint]].",
    ),
    "sharp-point": Rule(
        "ask",
        "A piece has a corner so sharp that it breaks off.",
        "a corner under 45 degrees; stop under 30",
        OWN,
        "Use a butt or a short mitre at that corner, or clip it.",
    ),
    "faucet-deck": Rule(
        "ask",
        "A faucet's shank may not reach through the wood.",
        "a hole through more than 1 1/2 in (38 mm)",
        PRACTICE,
        "Ask for the faucet's greatest deck, or have the hole counterbored from below.",
    ),
    "heat-beside": Rule(
        "note",
        "Heat and steam stand beside or below the wood, which dries, checks and darkens there.",
        "a cooktop, range, oven or dishwasher at the top",
        PRACTICE,
        "Keep the clearances of the appliance's instructions; a barrier over a dishwasher, a shield beside a range.",
    ),
    "splash-hits": Rule(
        "ask",
        "The backsplash runs into a window's sill.",
        "the sill below the top's height plus the splash",
        GEOMETRY,
        "Lower the splash along that wall, or end it at the window.",
    ),
    "exposed-corner": Rule(
        "ask",
        "A square corner stands where people sit or pass.",
        "a free corner of a top left square",
        PRACTICE,
        "Round or clip it under corners, or have it confirmed square.",
    ),
    "no-air-below": Rule(
        "ask",
        "The underside gets no air, and the top cups.",
        'below = "solid deck"',
        PRACTICE,
        "Open the deck, or stand the top on battens with air between them.",
    ),
    "gap-not-covered": Rule(
        "note",
        "The gap at the wall is wider than what would cover it.",
        "a gap behind the top wider than the splash is thick",
        GEOMETRY,
        "Use a thicker splash, scribe the top, or cover the gap on site.",
    ),
    "short-grain": Rule(
        "note",
        "A piece is shorter along the grain than across: it is weak and moves most along its length.",
        "length along the grain less than width across",
        PRACTICE,
        "Carry it well, and check that the grain is meant so.",
    ),
    "movement-needs-room": Rule(
        "ask",
        "The top swells across its grain more than the room behind it, or at its ends, allows.",
        "swelling from the middle of the year's moisture to the dampest, against wall_gap; end grain between two ends too",
        "Wood Handbook FPL-GTR-190, eq. 4-5, 13-2 and 13-3",
        "Leave a wider gap and cover it with a splash, choose edge grain or a quieter wood, or keep the house's humidity closer.",
    ),
    "mitre-opens": Rule(
        "note",
        "A mitre opens visibly from summer to winter: in front when the house is dry, at the back when it is damp.",
        "opening at one end of the joint above 3/16 in (5 mm), if nothing held it",
        "geometry of the mitre on movement by the Wood Handbook; the limit is an own default",
        "Use a butt or a short mitre, draw it up well, and keep the house at 40 to 55 % relative humidity.",
    ),
    "slot-needed": Rule(
        "note",
        "The usual slot of a hold-down is too short for how far this piece moves there.",
        "the screw and twice the movement from the fixed line, against a slot of 5/8 in (16 mm)",
        "Wood Handbook, eq. 13-2; slot by one maker's sheet, confidence medium",
        "Cut the slots as long as the hold-down table says, across the grain.",
    ),
    "species-moves-much": Rule(
        "note",
        "This wood, in this construction and house, changes much over the year.",
        "more than 1.75 % of its width from the driest to the dampest",
        OWN,
        "Choose edge grain or a quieter wood, or have the house kept at 40 to 55 % relative humidity.",
    ),
    "overhang-bends": Rule(
        "ask",
        "An overhang bends more under load than it should.",
        "tip deflection under [load] (100 lb on 12 in, weight by 1.5) above twice its length by 360",
        "own defaults; IRC R301.7 counts a cantilever's span twice; no published rule for wood tops was found",
        "Carry it nearer to the edge, or make the top thicker; the finding says by how much.",
    ),
    "overhang-cracks": Rule(
        "ask",
        "An overhang may crack at its root under load, most of all across the grain.",
        "root stress under [load] above half of the mean strength (across the grain: tension perpendicular); stop at all of it",
        "Wood Handbook tables of strength, means of small clear pieces; the share is an own default",
        "Carry it nearer to the edge, or make the top thicker; keep people off it.",
    ),
    "rail-weak": Rule(
        "ask",
        "The strip of wood before or behind a cutout is too weak for what may lean on it.",
        "its middle under [load] bends more than its span by 360, or comes to half of its strength",
        OWN,
        "Move the cutout, or carry the strip by a rail of the cabinet below.",
    ),
    "too-heavy": Rule(
        "ask",
        "A piece is too heavy for the people who can get round it.",
        "more than four people at [load] lift each (50 lb)",
        "own default; NIOSH's limit under ideal conditions is 51 lb",
        "Divide the top, make it thinner, or plan for lifting gear.",
    ),
    "way-in-too-tight": Rule(
        "ask",
        "A piece does not pass the door, turn the hall or fit the lift on its way in.",
        "on edge, flat or tilted in its own plane, by [site] door, hall, ceiling and lift",
        "geometry of a ladder round a corner",
        'Divide it where it passes: [shop] seams = "way in" does so by the rule, a seam by hand under [[joint]] by choice.',
    ),
    "milling-outside": Rule(
        "stop",
        "A groove, slot or recess runs over an edge or a joint.",
        "each lies wholly on one piece; grooves that drain to a sink run into its opening",
        GEOMETRY,
        "Move it, or make it shorter.",
    ),
    "milling-too-deep": Rule(
        "ask",
        "Too little wood is left under what is let into a face, counting what is let in from the other face there.",
        "less than 1/2 in (12 mm); stop under half",
        OWN,
        "Make it shallower, move it, or make the top thicker.",
    ),
    "no-such-board": Rule(
        "ask",
        "A piece takes boards that are longer, or lumber that is thicker, than the shop can get.",
        "longer with its trim than the longest of [shop] stock (16 ft, 4800 mm), or thicker than 16/4 surfaces to (3 3/4 in)",
        "lengths of NHLA's rules, from memory; surfaced thicknesses of the same",
        "Divide the piece by a seam, use finger-jointed boards, or another construction.",
    ),
    "cut-file-unsound": Rule(
        "stop",
        "A piece's cut file, read again as it was written, is not fit for a machine; it was left out.",
        "one unit, one outline, closed contours that lie inside it and neither cross nor repeat, no cut under 0.01 mm",
        OWN,
        "Change what lies at the place that it names, or cut the piece by its sheet; the file itself can be a fault of the program.",
    ),
}
"""Every code, in the order in which findings are told."""


def nearest(code: str) -> str | None:
    """Return the code nearest to a misspelt one, or None."""
    close = difflib.get_close_matches(code.strip().lower(), RULES, n=1)
    return close[0] if close else None
