"""A walk as a state machine over lines of text: given a session and a line, a new session.

Nothing here reads, prints or writes a file. A `Reply` says what to show and what must be in the
journal before anything else is asked. What the first question does not need is imported where it is
used, so that it stands on the screen at once.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

from keygen.core.infer import Contradiction
from keygen.core.model import Couplet, Rules
from keygen.core.walk import Answer, Choice, Position, Step, Term, next_couplet, start, take
from keygen.errors import KeygenError
from keygen.specimens import screen

if TYPE_CHECKING:
    from keygen.specimens.details import Question, Where
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
        until_call: whether couplets are asked in the order that settles the call soonest.
        resumed_at: after so many answers the call was settled, and the description is finished in
            the key's order; nothing if it is not.
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
    until_call: bool = False
    resumed_at: int | None = None
    given: Mapping[str, str] = field(default_factory=dict)
    pending: tuple[Meaning, ...] = ()

    @property
    def rules(self) -> Rules:
        """Return the rules of the walk."""
        return self.lexicon.rules

    @property
    def by_call(self) -> bool:
        """Tell whether the call is still what is asked for."""
        return self.until_call and bool(self.region) and self.resumed_at is None

    @cached_property
    def couplet(self) -> Couplet | None:
        """Return the couplet being asked, or None after the key or when the call is settled."""
        if self.enough:
            return None
        if self.by_call:
            from keygen.core.until import couplet_until_call

            return couplet_until_call(self.rules, self.region, self.position)
        return next_couplet(self.rules, self.position)

    @property
    def offered(self) -> bool:
        """Tell whether the call is settled and the rest of the key is on offer."""
        rest = next_couplet(self.rules, self.position)
        return self.by_call and not self.enough and self.couplet is None and rest is not None

    @property
    def where(self) -> Where:
        """Return what the questions after the key depend on."""
        from keygen.specimens.details import Where

        return Where(self.rules, self.region, self.specimen, self.position, self.today)

    @property
    def record(self) -> Specimen:
        """Return the record of what has been answered."""
        from keygen.specimens import details

        return details.specimen(self.where, self.given)

    @property
    def asked(self) -> Question | None:
        """Return what is asked after the key, or None when everything has been."""
        from keygen.specimens import details

        return details.question(self.where, self.given)

    @property
    def finished(self) -> bool:
        """Tell whether everything has been asked."""
        return not (self.couplet or self.offered or self.asked)


@dataclass(frozen=True)
class Reply:
    """What comes of one line: the session after it, what to show, what to keep on disk."""

    session: Session
    say: tuple[str, ...] = ()
    keep: tuple[Mapping[str, Any], ...] = ()
    stop: Literal["", "pause"] = ""


def begin(
    lexicon: Lexicon, region: str, specimen: str, today: str, until_call: bool = False
) -> Session:
    """Return a session before its first question."""
    position = start(lexicon.rules)
    return Session(lexicon, region, specimen, today, position, until_call=until_call)


def get_ready(session: Session) -> None:
    """Load, and work out once, what the first answers need, so that none has to wait for it."""
    from keygen.specimens import narrowing

    screen.left(session.rules, session.position)
    if session.region:
        narrowing.types_left(session.rules, session.region, session.position)


def prompt(session: Session) -> str:
    """Return what to show before reading the next line."""
    if session.pending:
        return screen.choices(session.rules, session.pending)
    if session.couplet:
        return screen.couplet_text(session.couplet)
    if session.offered:
        from keygen.specimens import narrowing

        return narrowing.offer(session.rules, session.region, session.position)
    return session.asked.ask if session.asked else ""


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
    if session.offered:
        return _answer_offer(session, word)
    from keygen.specimens.afterwards import taken

    filled, say = taken(session.where, session.given, text)
    after = replace(session, given={**session.given, **filled}) if filled else session
    return Reply(after, say, tuple({"detail": [name, kept]} for name, kept in filled.items()))


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
    if session.resumed_at is not None and session.resumed_at == len(session.before):
        return replace(session, resumed_at=None, pending=())
    *before, position = session.before
    return replace(session, before=tuple(before), position=position, pending=())


def _answer_offer(session: Session, word: str) -> Reply:
    """Take the answer whether to finish the description once the call is settled."""
    if word == "a":
        return Reply(finish(session), ("In the key's order now.",), ({"finish": True},))
    if word in ("b", "enough"):
        return Reply(replace(session, enough=True), (), ({"enough": True},))
    return Reply(session, ("Answer a or b; `back` takes the last answer back.",))


def finish(session: Session) -> Session:
    """Return the session with the rest of the key to be asked in the key's order."""
    return replace(session, resumed_at=len(session.before))


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
        ahead = couplet != next_couplet(session.rules, session.position)
        reply = _take(session, (Answer(couplet.id, choice, ahead),))
        return replace(reply, say=(*screen.instructions(couplet, choice), *reply.say))
    try:
        meanings = session.lexicon.find(text)
    except KeygenError as error:
        return Reply(session, tuple(str(problem) for problem in error.problems))
    meanings = tuple(m for m in meanings if couplet.attributes & m.limits.keys()) or meanings
    meanings = tuple(m for m in meanings if m.own) or meanings
    if not meanings:
        told = (
            f"{text!r} is neither an answer nor a term.",
            session.lexicon.near(text),
            "? shows help.",
        )
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
    from keygen.core.until import on_record
    from keygen.specimens import narrowing, path

    before = session.position.known
    try:
        after = took(session, steps)
    except Contradiction:
        return Reply(session, (screen.clash(session.rules, session.position.known, steps),))
    rules, by_call = session.rules, session.by_call
    say = [screen.running(rules, before, after.position, not by_call)]
    if session.region and not (
        after.offered or (after.couplet and on_record(rules, after.couplet))
    ):
        say.append(narrowing.types_left(rules, session.region, after.position, not by_call))
    if after.couplet is None and not after.offered:
        say.append("The key has ended. What follows can all be left empty (Enter); `done` ends it.")
    tokens = [path.write_step(session.rules, step) for step in steps]
    return Reply(after, tuple(filter(None, say)), ({"took": tokens},))


def took(session: Session, steps: tuple[Step, ...]) -> Session:
    """Return the session after one answer's steps.

    Raises:
        Contradiction: they do not fit what was answered before.
    """
    position = session.position
    for step in steps:
        position = take(session.rules, position, step)
    return replace(session, before=(*session.before, session.position), position=position)
