"""The report's sentences about the type, written by hand as f-strings; see `by_hand`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from keygen.prose.grammar import listed, number
from tests.bench.by_hand import V, Worder, several


def call(v: V) -> str:
    """Word `call`."""
    status, names, place = v["status"], v["names"], v["place"]
    grounds = f" ({', '.join(v['evidence'])})" if v["evidence"] else ""
    if status == "assigned":
        head = "The haft" if grounds else "What was recorded"
        return f"{head} agrees with {names[0]} as known {place}{grounds}{_against(v)}"
    if status == "cf.":
        told = [f"{item['name']} ({item['why']})" for item in v["open"]]
        last = ", and " if " and " in v["open"][-1]["name"] else " and "
        left = last.join([", ".join(told[:-1]), told[-1]] if len(told) > 1 else told)
        only = f"Of the types known {place} only {names[0]} remains possible{grounds}"
        return f"{only}; the call is cf. {v['name']}, with {left} left open"
    if status == "either":
        by = f"its haft{grounds}" if grounds else "what was recorded"
        few = len(names) <= 4
        one = f"{'one' if few else 'any'} of {number(len(names))} types known {place}"
        which = f": {listed(names, 'or')}" if few else _foremost(v)
        tell = f". {v['tell']}" if v["tell"] else ""
        return f"By {by} the piece can be {one}{which}{tell}"
    if v["reason"] == "haft_unknown":
        nothing = "Nothing that defines a haft was observed, and without it"
        return f"{'Without the haft' if v['haft_gone'] else nothing} no type is called"
    near = [f"{item['name']}, {item['which']}" for item in v["near"]]
    text = f"None of the types known {place} fits all that was observed"
    if not near:
        return text
    last = ", and " if len(near) == 2 else "; and "
    which = last.join(["; ".join(near[:-1]), near[-1]] if len(near) > 1 else near)
    return f"{text}; nearest {'is' if len(near) == 1 else 'are'} {which}"


def _foremost(v: V) -> str:
    names = v["foremost"]
    if not v["leading"]:
        return f", among them {listed(names)}"
    if len(names) == 1:
        return f"; the one that agrees best is {names[0]}"
    return f"; those that agree best are {listed(names)}"


def _against(v: V) -> str:
    if v["clean"]:
        return ", and nothing recorded speaks against it"
    if against := v["against"]:
        verb = "speak" if len(against) > 1 else "speaks"
        return f", but {listed(against)} as measured {verb} against it"
    if doubtful := v["doubtful"]:
        verb = "leave" if len(doubtful) > 1 else "leaves"
        return f", though {listed(doubtful)} as measured {verb} room for doubt"
    return ""


def support(v: V) -> str:
    """Word `support`."""
    text = ""
    if v["traits"]:
        traits = several([f"{item['name']} ({item['is']})" for item in v["traits"]])
        text = f"It departs from what is usual for {v['name']} in {traits}"
    for group in v["outside"]:
        figures = [
            f"{item['name']} ({item['value']}, against {item['range']})"
            for item in group["figures"]
        ]
        lie = "lie" if len(figures) > 1 else "lies"
        text += f"{'; its' if text else 'Its'} {several(figures)} {lie} outside what is given for "
        text += f"the type ({group['grounds']})"
    return text


def aside(v: V) -> str:
    """Word `aside`."""
    what = "piece was reworked, its blade" if v["reworked"] else "blade was heavily resharpened, it"
    return f"As the {what} was not weighed in the call"


def age(v: V) -> str:
    """Word `age`."""
    groups, told = v["groups"], []
    for i, group in enumerate(groups):
        names = group["names"]
        if v["single"]:
            head = "The type is"
        elif len(groups) == 1:
            head = f"{'Both' if len(names) == 2 else 'All'} are"
        else:
            head = f"{listed(names)} {'are' if len(names) > 1 else 'is'}"
        told.append(f"{head}{'' if i else ' placed there'} {group['when']}, {group['age']}")
    return "; ".join(told) + _shared(v["shared"], len(groups))


def _shared(shared: Mapping[str, str], count: int) -> str:
    if not shared:
        return ""
    scale, period = shared["scale"], shared["period"]
    text = f". {'Both ages' if count == 2 else 'All these ages'}"
    if period:
        kind = "uncalibrated " if scale == "uncalibrated" else ""
        text += f" are {kind}ranges of the period rather than direct dates"
    elif scale == "uncalibrated":
        text += " are uncalibrated"
    if scale == "uncertain":
        text += f"{',' if period else ' are'} on a scale that the sources leave uncertain"
    if shared["basis"]:
        memory = shared["basis"] == "memory"
        basis = "cited from memory and still to be verified" if memory else "common practice in"
        text += f"{'; they are' if period or scale else ' are'} {basis}"
        text += "" if memory else " the trade"
    return text


def next_look(v: V) -> str:
    """Word `next_look`."""
    lost = ""
    if v["lost"]:
        seen = "can no longer be seen" if v["gone"] else "could not be seen"
        what = "; what" if v["question"] else "What"
        lost = f"{what} would part them best, {v['lost']}, {seen}"
    return f"{_look(v) if v['question'] else ''}{lost}"


def _look(v: V) -> str:
    count, leaves, worst = v["count"], v["leaves"], v["at_worst"]
    head = f"Knowing {v['question']} would "
    if leaves == 1:
        return (
            f"{head}probably {'decide between the two' if count == 2 else 'leave only one of them'}"
        )
    text = f"{head}narrow these {number(count)} to about {number(leaves)}"
    if count > 4 and worst >= count:
        return f"{text} on average, though at worst none would fall out"
    return f"{text}, and to {number(worst)} at worst" if count > 4 and worst > leaves else text


def elsewhere(v: V) -> str:
    """Word `elsewhere`."""
    told = []
    for item in v["items"]:
        relation = f"{item['relation']}: " if item["relation"] else ""
        where = f"{item['name']} {listed(item['places'])} ({relation}{item['when']})"
        told.append(f"{where}{' and elsewhere' if item['more'] else ''}")
    head = f"{'In other regions the' if v['region'] else 'The'} same observations"
    head += " would fit " if v["fragment"] else " agree with "
    if not v["more"]:
        return head + "; and ".join(["; ".join(told[:-1]), told[-1]] if len(told) > 1 else told)
    one = v["more"] == 1
    count = "one" if one else number(v["more"]) if v["countable"] else "many"
    rest = f"{count} other {'type' if one else 'types'}{' further afield' if v['afar'] else ''}"
    return f"{head}{'; '.join(told)}; and {rest}"


def cautions(v: V) -> str:
    """Word `cautions`."""
    return " ".join(v["texts"])


def indices(v: V) -> str:
    """Word `indices`."""
    count, sides, open_ = v["count"], v["sides"], v["open"]
    if not open_ and len(sides) == 1:
        head = "Both" if count == 2 else f"All {number(count)}"
        text = f"{head} published measures of {v['question']} that could be taken call it "
        text += f"{sides[0]['is']}, which is no proof of the weapon"
    else:
        told = []
        for side in sides:
            verb = "call" if len(side["by"]) > 1 else "calls"
            told.append(f"{number(len(side['by']))} {verb} it {side['is']} {_cited(side['by'])}")
        text = f"Of {number(count)} published measures of {v['question']}, "
        text += (", " if open_ else " and ").join(told)
        if open_:
            verb = "leave" if len(open_) > 1 else "leaves"
            text += f"{' and ' if sides else ''}{number(len(open_))} {verb} it open {_cited(open_)}"
        text += "; none of them is the answer"
    if v["recalled"]:
        text += f" (the numbers of {number(v['recalled'])} of them are from memory, to be verified)"
    return text


def _cited(items: list[dict[str, Any]]) -> str:
    works = [f"{item['name']}, {item['work']}" for item in items]
    return f"({'; '.join(works)})"


OF_THE_TYPE: Mapping[str, Worder] = {
    "call": call,
    "support": support,
    "aside": aside,
    "age": age,
    "next_look": next_look,
    "elsewhere": elsewhere,
    "cautions": cautions,
    "indices": indices,
}
