"""`keygen types --terms`: the words of the rules, to look up for --set."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from keygen.cli.drawn import fault

if TYPE_CHECKING:
    from keygen.core.model import Rules
    from keygen.specimens.terms import Lexicon


def looked_up(rules: Rules, wanted: str) -> tuple[dict[str, Any], str]:
    """List all attributes with their states; or the words of one attribute; or what one means.

    Raises:
        KeygenError: what is wanted is neither an attribute nor a word.
    """
    from keygen.rulebase.thesaurus import plain
    from keygen.specimens.terms import Lexicon

    lexicon = Lexicon(rules)
    if not wanted:
        states = {name: lexicon.ids(name) for name in lexicon.words}
        text = "".join(f"{name}: {', '.join(ids)}\n" for name, ids in states.items())
        return {"terms": states}, text
    names = {plain(form): n for n in lexicon.words for form in (n, lexicon.labels[n])}
    if name := names.get(plain(wanted)):
        words = {state: lexicon.exact(name, state) for state in lexicon.ids(name)}
        text = "".join(f"{state}: {', '.join(found)}\n" for state, found in words.items())
        return {"terms": {name: words}}, text
    return _meanings(rules, lexicon, wanted)


def _meanings(rules: Rules, lexicon: Lexicon, wanted: str) -> tuple[dict[str, Any], str]:
    from keygen.prose.ages import grounds
    from keygen.rulebase.thesaurus import plain

    meanings = lexicon.find(wanted)
    if not meanings:
        remedy = lexicon.near(wanted) or "`keygen types --terms` lists attributes and states."
        raise fault("K005", f"{wanted!r} is neither an attribute nor a word of the trade", remedy)
    entry = lexicon.thesaurus.get(plain(wanted))
    told = [lexicon.told(meaning) for meaning in meanings]
    lines = [f"{wanted}: {'one of these' if len(told) > 1 else told[0]}"]
    lines += [f"  {text}" for text in told if len(told) > 1]
    if entry:
        cited = grounds(rules, entry.sources, entry.basis) if entry.sources else ""
        lines.append(f"  used: {entry.used}{f' ({cited})' if cited else ''}")
        lines += [f"  {entry.note}"] if entry.note else []
    data = {
        "word": wanted,
        "means": [
            {rules.attributes[i].id: rules.attributes[i].ids(m) for i, m in found.limits.items()}
            for found in meanings
        ],
        "used": entry.used if entry else None,
        "basis": entry.basis if entry else None,
        "sources": entry.sources if entry else (),
        "note": (entry.note or None) if entry else None,
    }
    return {"word": data}, "\n".join(lines) + "\n"
