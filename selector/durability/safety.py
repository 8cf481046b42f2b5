"""What has to be said where a failing joint can hurt someone; asked first, printed with every result.

Common practice of the trade, in our own words; standards are named from memory. No function here qualifies a joint.
"""

from collections.abc import Mapping
from types import MappingProxyType

SCREENING_ONLY = "This is a screening aid. It has qualified no joint."

QUESTIONS: Mapping[str, str] = MappingProxyType(
    {
        "can_hurt": "Can a failing joint hurt someone (medical, vehicle, flight, rail, machine guard, mains, heating)?",
        "carries_power": "Does the joint carry mains or battery current?",
        "certified": "Is the product certified, or its board a recognised component?",
        "skin_contact": "Can skin touch the joint or its finish?",
        "lead_or_cadmium": "Does the joint hold lead or cadmium?",
        "contract_field": "Is the contract for space, military or avionics equipment?",
        "battery_pack": "Does the joint sit inside a portable battery pack?",
    }
)
CAUTIONS: Mapping[str, str] = MappingProxyType(
    {
        "can_hurt": "Candidates to qualify, never approved ones: the product standard decides (ISO 14971, IEC 60601-1,"
        " ISO 26262, DO-160 and DO-254, IEC 61508, IEC 62368-1, as they apply; named from memory).",
        "carries_power": "Judge the onset against the fault condition, not only normal use: a shorted part can heat a"
        " joint to 130 degC, and a low-melting joint then opens or flows as a fuse or a short nobody designed.",
        "certified": "Tell the certifier before the alloy changes: a cooler process does not lift that duty.",
        "skin_contact": "Nickel release, lead and cadmium rules of what touches skin apply, and sweat corrodes;"
        " implants are beyond this tool.",
        "lead_or_cadmium": "Lead or cadmium: mind fume, hand washing and the blood-lead rules, lawful or not.",
        "contract_field": "Such contracts may require lead (3 % or more in tin finishes) or a written control plan for"
        " lead-free; a ban in consumer law is then no ban here.",
        "battery_pack": "Lead counts against the whole portable battery pack, at 100 ppm.",
    }
)
MISSING_STAYS = "What is missing stays missing: no default may turn a class 3 or medical case green."


def safety_cautions(answers: Mapping[str, bool | None]) -> tuple[str, ...]:
    """Return what has to be said beside a result, by what is known of the use.

    Parameters
    ----------
    answers : mapping
        Of the names in `QUESTIONS`: True, False, or None (or absent) where nobody has said; an open one is asked.

    Raises
    ------
    KeyError
        A name that is not a question.
    """
    strange = set(answers) - set(QUESTIONS)
    if strange:
        raise KeyError(f"not a question: {', '.join(sorted(strange))}")
    told = [SCREENING_ONLY]
    for name, question in QUESTIONS.items():
        answer = answers.get(name)
        if answer is True:
            told.append(CAUTIONS[name])
        elif answer is None:
            told.append(f"Not answered yet: {question}")
    return (*told, MISSING_STAYS)
