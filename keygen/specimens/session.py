"""A walk as a state machine over lines of text: given a session and a line, a new session.

Nothing here reads, prints or writes a file. A `Reply` says what to show and what must be in the
journal before anything else is asked.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Literal

from keygen.core.infer import Contradiction, conflict
from keygen.core.model import Couplet, Rules
from keygen.core.walk import Answer, Choice, Position, Step, Term, next_couplet, start, take
from keygen.errors import KeygenError
from keygen.specimens import details, path, screen
from keygen.specimens.details import Where
from keygen.specimens.record import Specimen
from keygen.specimens.terms import Lexicon, Meaning

CHOICES: Mapping[str, Choice] = {
    "a": "a", "b": "b", "u": "?", "unsure": "?", "n": "-", "cannot be seen": "-", "-": "-",
}  # fmt: skip


@dataclass(frozen=True)
class Session:
    """A walk under way.

    Attributes:
        lexicon: the words of the rules, and the rules.
        region: the region's id, or nothing.
        specimen: the specimen's number.
        today: the date offered, as text.
        position: where the walk stands in the key.
        before: where it stood before each answer; a word can settle several attributes at once.
        enough: whether the rest of the key is left unasked.
        given: the answers after the key, in order.
        pending: what an ambiguous word can mean, while that is being asked.
    """

    lexicon: Lexicon
    region: str
    specimen: str
    today: str
    position: Position
    before: tuple[Position, ...] = ()
    enough: bool = False
    given: Mapping[str, str] = field(default_factory=dict)
    pending: tuple[Meaning, ...] = ()

    @property
    def rules(self) -> Rules:
        """Return the rules of the walk."""
        return self.lexicon.rules

    @property
    def couplet(self) -> Couplet | None:
        """Return the couplet being asked, or None after the key."""
        return None if self.enough else next_couplet(self.rules, self.position)

    @property
    def where(self) -> Where:
        """Return what the questions after the key depend on."""
        return Where(self.rules, self.region, self.specimen, self.position, self.today)

    @property
    def record(self) -> Specimen:
        """Return the record of what has been answered."""
        return details.specimen(self.where, self.given)

    @property
    def finished(self) -> bool:
        """Tell whether everything has been asked."""
        return self.couplet is None and details.question(self.where, self.given) is None


@dataclass(frozen=True)
class Reply:
    """What comes of one line: the session after it, what to show, what to keep on disk."""

    session: Session
    say: tuple[str, ...] = ()
    keep: tuple[Mapping[str, Any], ...] = ()
    stop: Literal["", "pause"] = ""


def begin(lexicon: Lexicon, region: str, specimen: str, today: str) -> Session:
    """Return a session before its first question."""
    return Session(lexicon, region, specimen, today, start(lexicon.rules))


def prompt(session: Session) -> str:
    """Return what to show before reading the next line."""
    if session.pending:
        return screen.choices(session.rules, session.pending)
    if session.couplet:
        return screen.couplet_text(session.couplet)
    asked = details.question(session.where, session.given)
    return asked.ask if asked else ""


def answer(session: Session, line: str) -> Reply:
    """Take one line as typed."""
    text = " ".join(line.split())
    word = text.casefold()
    if word == "pause":
        return Reply(session, stop="pause")
    if word == "so far":
        return Reply(session, (screen.so_far(session.rules, session.position),))
    if word == "left":
        return Reply(session, (screen.left(session.rules, session.position),))
    if session.pending:
        return _settle_meaning(session, text)
    if word == "back":
        return _back(session)
    if session.couplet:
        return _answer_couplet(session, session.couplet, text)
    return _answer_detail(session, text)


def _back(session: Session) -> Reply:
    if not (session.given or session.enough or session.before):
        return Reply(session, ("This is the first question.",))
    return Reply(undo(session), ("Taken back.",), ({"back": True},))


def undo(session: Session) -> Session:
    """Return the session before its last answer."""
    if session.given:
        kept = dict(session.given)
        kept.popitem()
        return replace(session, given=kept, pending=())
    if session.enough:
        return replace(session, enough=False, pending=())
    *before, position = session.before
    return replace(session, before=tuple(before), position=position, pending=())


def _answer_couplet(session: Session, couplet: Couplet, text: str) -> Reply:
    word = text.casefold()
    if not word:
        return Reply(session, (screen.KEYS,))
    if word in ("?", "help"):
        return Reply(session, (screen.help_text(session.rules, couplet, session.position.known),))
    if word == "enough":
        say = "The rest of the key is left unasked."
        return Reply(replace(session, enough=True), (say,), ({"enough": True},))
    if word in CHOICES:
        choice = CHOICES[word]
        reply = _take(session, (Answer(couplet.id, choice),))
        return replace(reply, say=(*screen.instructions(couplet, choice), *reply.say))
    try:
        meanings = session.lexicon.find(text)
    except KeygenError as error:
        return Reply(session, tuple(str(problem) for problem in error.problems))
    meanings = tuple(m for m in meanings if couplet.attributes & m.limits.keys()) or meanings
    meanings = tuple(m for m in meanings if m.own) or meanings
    if not meanings:
        told = f"{text!r} is no answer here and no term.", session.lexicon.near(text), "? for help."
        return Reply(session, (" ".join(part for part in told if part),))
    if len(meanings) > 1:
        return Reply(replace(session, pending=meanings))
    return _take_meaning(session, meanings[0])


def _settle_meaning(session: Session, text: str) -> Reply:
    """Take the answer to which attribute is meant; other words of the trade begin anew."""
    pending, bare = session.pending, replace(session, pending=())
    word = text.casefold()
    if word in ("", "none", "back"):
        return Reply(bare)
    for number, meaning in enumerate(pending, 1):
        label = session.lexicon.labels[meaning.name].casefold()
        if word in (str(number), meaning.name, label):
            return _take_meaning(bare, meaning)
    if "=" in text or session.lexicon.find(text):
        return answer(bare, text)
    return Reply(session, (f"Give a number from 1 to {len(pending)}, or Enter for none.",))


def _take_meaning(session: Session, meaning: Meaning) -> Reply:
    known = session.position.known
    if all(not known[i] & ~mask for i, mask in meaning.limits.items()):
        return Reply(session, ("That is settled already.",))
    return _take(session, tuple(Term(i, mask) for i, mask in meaning.limits.items()))


def _take(session: Session, steps: tuple[Step, ...]) -> Reply:
    before = session.position.known
    try:
        after = took(session, steps)
    except Contradiction:
        return Reply(session, (_clash(session, steps),))
    say = [screen.running(session.rules, before, after.position)]
    if after.couplet is None:
        say.append("The key has ended. What follows can all be left empty (Enter); `done` ends it.")
    tokens = [path.write_step(session.rules, step) for step in steps]
    return Reply(after, tuple(say), ({"took": tokens},))


def took(session: Session, steps: tuple[Step, ...]) -> Session:
    """Return the session after one answer's steps.

    Raises:
        Contradiction: they do not fit what was answered before.
    """
    position = session.position
    for step in steps:
        position = take(session.rules, position, step)
    return replace(session, before=(*session.before, session.position), position=position)


def _clash(session: Session, steps: Iterable[Step]) -> str:
    """Say what a contradicting answer contradicts."""
    known = list(session.position.known)
    terms = [step for step in steps if isinstance(step, Term)]
    for term in terms:
        if not known[term.attribute] & term.mask:
            attribute = session.rules.attributes[term.attribute]
            settled = screen.terms(attribute, known[term.attribute])
            return f"{attribute.label} is settled as {settled}. `back` takes answers back."
        known[term.attribute] &= term.mask
    against = [i for i in conflict(session.rules, known) if i not in {t.attribute for t in terms}]
    if not against:
        return "That does not fit what was answered before. `back` takes answers back."
    rest = "; ".join(screen.listed(session.rules, session.position.known, against))
    return f"That does not go with: {rest}. `back` takes answers back."


def _answer_detail(session: Session, text: str) -> Reply:
    asked = details.question(session.where, session.given)
    if asked is None:
        return Reply(session)
    if text.casefold() == "done":
        return _done(session)
    if text == "?":
        return Reply(
            session, ("Enter leaves this empty; `done` ends the questions; also back, pause.",)
        )
    try:
        kept, remark = details.accept(session.where, asked.field, text)
    except KeygenError as error:
        return Reply(session, tuple(str(problem) for problem in error.problems))
    after = replace(session, given={**session.given, asked.field: kept})
    return Reply(after, (remark,) if remark else (), ({"detail": [asked.field, kept]},))


def _done(session: Session) -> Reply:
    """Leave all remaining questions empty; only a reason that is owed has to be given."""
    keep: list[Mapping[str, Any]] = []
    while asked := details.question(session.where, session.given):
        try:
            kept, _ = details.accept(session.where, asked.field, "")
        except KeygenError as error:
            return Reply(session, tuple(str(problem) for problem in error.problems), tuple(keep))
        session = replace(session, given={**session.given, asked.field: kept})
        keep.append({"detail": [asked.field, kept]})
    return Reply(session, (), tuple(keep))
