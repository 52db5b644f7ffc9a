"""The usual cautions where a work can hurt someone, the tree, or a neighbour.

Each names the danger and the habit that avoids it, and leaves the last word to the label, the
local rules or a licensed person. No product, dose or mixture is ever named.
"""

from __future__ import annotations

from typing import Final

from boughwright.journal.terms import Work

CAUTIONS: Final[dict[str, str]] = {
    "blades": "Cut away from your hand and wear a cut-proof glove on the other. "
              "Sharp blades slip less. Keep first aid near and your tetanus cover up to date.",
    "blade hygiene": "Clean the blade between trees and after each sick cut. "
                     "Alcohol and flame together are a fire risk: let the one dry first.",
    "wire ends": "Wear eye protection: cut ends spring. Take deep wire off in short pieces. "
                 "Pick up the offcuts and leave no guy at eye height.",
    "hot copper": "Copper just heated is hot, and heating it is an open fire with fumes. "
                  "Follow your local fire rules.",
    "bending force": "Jacks, levers and pulled guys hold force. Stand out of line. "
                     "Stop at the first cracking sound.",
    "cut paste": "Read the label of the cut paste and follow it. Keep it off skin and eyes.",
    "sprays": "Use only what is allowed for this plant where you live. The label is the law. "
              "Some products need a licence or a contractor. Mind bees and neighbours.",
    "lime sulfur": "It burns skin and eyes, and gives off a toxic gas with acids. Work outdoors "
                   "with gloves and goggles, and follow the label. Some places restrict it.",
    "home mixtures": "Do not mix household chemicals as a cure.",
    "power tools": "Wear a full face shield, ear cover and a dust mask. Clamp the tree and use "
                   "both hands. Never work alone. Get trained, or hire someone who is.",
    "dust": "Wet dry soil before you sieve it and wear a mask. Open compost bags away from your "
            "face and wash your hands. Wood and mould dust can harm the lungs.",
    "lifting": "A wet pot weighs about 1.5 kg a litre. Over 20 kg, lift with two people or use a "
               "trolley. Check that the bench bears it. Tie a tall tree against wind.",
    "heaters": "Use only outdoor-rated power with a cut-out switch. A burning heater needs fresh "
               "air and a gas alarm. Ask a licensed electrician or fitter when in doubt.",
    "thorns": "Thorns can cause deep infections. Wear gloves and eye protection.",
    "wild collecting": "Collect only with the owner's written leave and every permit you need. "
                       "Leave protected kinds and places alone. Fill the hole.",
    "plant movement": "Trees, soil and bare roots may need papers to cross a border or a zone. "
                      "Ask the plant health service first.",
    "notifiable": "Some pests and diseases must be reported by law. If you suspect one, do not "
                  "move the plant. Ask the plant health service.",
    "neighbours": "Mind spray drift, falling pots and water that runs next door.",
    "stop": "This is a forecast, not a promise. Look at the tree. Stop if you are unsure.",
}  # fmt: skip
"""Caution by key. Common practice in the trade; local law and labels come first."""

_OF_WORK: Final[dict[Work, str]] = {
    Work.CUT: "blades",
    Work.NOTCH: "blades",
    Work.SEVER: "blades",
    Work.RIM: "blades",
    Work.GRAFT_IN: "blades",
    Work.GRAFT_ON: "blades",
    Work.WIRE_OFF: "wire ends",
    Work.WIRE_ON: "wire ends",
    Work.GUY_ON: "bending force",
    Work.RAISE: "bending force",
    Work.LOWER: "bending force",
    Work.SPRAY: "sprays",
    Work.REPOT: "lifting",
    Work.FEED: "sprays",
}


def caution_for(work: Work) -> str:
    """Return the key of the caution that goes with a work, empty when there is none."""
    return _OF_WORK.get(work, "")


def caution_text(key: str) -> str:
    """Return the words of a caution, empty for an empty key."""
    return CAUTIONS[key] if key else ""
