"""What to ask when a fact that decides a step is not known."""

from __future__ import annotations

from cyclewright.knowledge.conditions import Facts
from cyclewright.knowledge.data import knowledge_error, table
from cyclewright.setting import Question

FILE = "questions.toml"


def asked(field: str) -> bool:
    """Whether there is a question for this field."""
    return field in table(FILE)


def beside(field: str, facts: Facts) -> tuple[Question, ...]:
    """What is not known and one answer to this question wants known with it."""
    rows = ((name, row) for name, row in table(FILE).items() if isinstance(row, dict))
    return tuple(
        Question(name, row["ask"], row["why"], tuple(row.get("options", ())))
        for name, row in rows
        if row.get("beside") == field and facts.get(name) is None
    )


def question_of(field: str) -> str:
    """The question for a field of the sheets; empty where there is none of its own."""
    return str(table(FILE).get(field, {}).get("ask", ""))


def asked_when_absent(field: str) -> bool:
    """Whether silence about this field is asked about: it leaves a step out."""
    return bool(table(FILE).get(field, {}).get("when_absent"))


def questions(field: str, facts: Facts) -> tuple[Question, ...]:
    """What to ask for an unknown field; a derived one asks for the first facts it lacks."""
    row = table(FILE).get(field)
    if row is None:
        raise knowledge_error(FILE, f"write a question for {field}")
    if "ask_for" not in row:
        return (Question(field, row["ask"], row["why"], tuple(row.get("options", ()))),)
    for tier in row["ask_for"]:
        if lacking := [name for name in tier if facts.get(name) is None]:
            return tuple(question for name in lacking for question in questions(name, facts))
    return ()


def torque_questions(joint: str, label: str) -> tuple[Question, ...]:
    """Asks for the torque of a joint that has no figure and may not be given a default."""
    row = table(FILE)["bike.fastener"]
    ask = row["ask"].replace("{label}", label)
    return (Question(f"bike.fastener.{joint}.max", ask, row["why"]),)
