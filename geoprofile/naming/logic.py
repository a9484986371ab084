"""Yes, no and open, with how far the record leans and why.

An answer is one of seven degrees, in order:

    -3 NO            the record says no
    -2 NOT_SEEN      no as far as the pit was seen; something deeper could change it
    -1 RATHER_NOT    open; what is recorded leans to no
     0 OPEN          open; nothing leans
     1 RATHER        open; what is recorded leans to yes
     2 SUPPOSED      yes, if what was not seen or not measured is as usual
     3 YES           the record says yes

"All of" is the least, "any of" the greatest, "not" turns the sign (Kleene 1952, strong three-valued logic, with the
open value and the edges refined). -1, 0 and 1 are open; only they make other names possible.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

NO, NOT_SEEN, RATHER_NOT, OPEN, RATHER, SUPPOSED, YES = range(-3, 4)

WORDS = {
    NO: "no",
    NOT_SEEN: "no, as far as seen",
    RATHER_NOT: "open, rather not",
    OPEN: "open",
    RATHER: "open, rather yes",
    SUPPOSED: "yes, supposed",
    YES: "yes",
}


@dataclass(frozen=True, slots=True)
class Answer:
    """What the record answers to one question.

    ``says`` is the evidence in words with horizon and value; ``asks`` the question; ``supposes`` what is taken for
    granted where the degree is SUPPOSED or NOT_SEEN; ``missing`` what would settle an open answer; ``source`` where the
    rule is printed; ``as_designated`` what is taken from a designation and was not measured.
    """

    degree: int
    says: str = ""
    asks: str = ""
    source: str = ""
    supposes: str = ""
    missing: str = ""
    as_designated: str = ""

    @property
    def is_open(self) -> bool:
        return -1 <= self.degree <= 1

    @property
    def may_hold(self) -> bool:
        return self.degree >= RATHER_NOT

    @property
    def may_fail(self) -> bool:
        return self.degree <= RATHER


def negated(answer: Answer) -> Answer:
    """The answer to the opposite question."""
    return replace(answer, degree=-answer.degree, asks=absence_of(answer.asks))


def absence_of(asks: str) -> str:
    return f"the absence of: {asks}"


def all_of(answers: Iterable[Callable[[], Answer]]) -> tuple[Answer, list[Answer]]:
    """(the answer that decides, all that were asked): the first no ends it."""
    asked: list[Answer] = []
    for ask in answers:
        asked.append(ask())
        if asked[-1].degree == NO:
            break
    return min(asked, key=lambda answer: answer.degree), asked


def any_of(answers: Iterable[Callable[[], Answer]]) -> tuple[Answer, list[Answer]]:
    """(the answer that decides, all that were asked): the first yes ends it."""
    asked: list[Answer] = []
    for ask in answers:
        asked.append(ask())
        if asked[-1].degree == YES:
            break
    return max(asked, key=lambda answer: answer.degree), asked


def first_of(*candidates: Answer | None) -> Answer:
    """The lowest degree among answers that bear on one thing, the first where several are equal; None are left out."""
    return min((one for one in candidates if one is not None), key=lambda answer: answer.degree)
