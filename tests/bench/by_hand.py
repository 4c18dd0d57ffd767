"""The report's sentences written by hand as f-strings, to time the shipped templates against.

Each function takes the values of its slot and gives what its template gives once tidied. They word
what the rows of the benchmark show, and no more; the benchmark asserts that the bytes are the same.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any

from keygen.prose.grammar import article, clauses, listed, some

V = Mapping[str, Any]


def several(items: Sequence[str]) -> str:
    """Join items with commas and a last `and`, whatever they hold."""
    return " and ".join([", ".join(items[:-1]), items[-1]] if len(items) > 1 else items)


def spaced(items: Iterable[object], between: str = " ") -> str:
    """Join the texts that say something."""
    return between.join([text for item in items if (text := str(item))])


def piece(v: V) -> str:
    """Word `piece`."""
    kind = spaced((v["kind"], v["noun"]))
    if v["fragment"] and not v["whole"]:
        is_ = f"{article(v['fragment'])} fragment of {article(spaced((v['size'], kind)))}"
    else:
        looks = spaced((v["whole"], v["size"]), ", ")
        is_ = article(spaced((looks, kind)))
        if v["fragment"]:
            is_ += f" or {article(v['fragment'])} fragment of one"
    stone = f" {'in' if v['fragment'] else 'of'} {v['material']}" if v["material"] else ""
    size = f", {listed(v['dimensions'])}" if v["dimensions"] else ""
    weight = f"; it weighs {v['weight']}" if v["weight"] else ""
    return f"Specimen {v['label']} is {is_}{stone}{size}{weight}"


def measures(v: V) -> str:
    """Word `measures`."""
    first, *rest = v["items"]
    told = [f"{first['name']} is {first['value']}", *(f"{i['name']} {i['value']}" for i in rest)]
    return several(told)


def blade(v: V) -> str:
    """Word `blade`."""
    edges, retouch, symmetry, tip = v["edges"], v["retouch"], v["symmetry"], v["tip"]
    if symmetry and (edges or retouch):
        if edges:
            run = f"{', '.join(edges.before)} edges{f', {retouch}' if retouch else ''}"
        else:
            run = f"edges {retouch}"
        text = f"The blade is {symmetry}, with {run}"
    elif edges or retouch:
        text = f"The blade edges are {listed((*edges.after, retouch))}"
    else:
        text = f"The blade is {symmetry}" if symmetry else ""
    return f"{text}{'; the' if text else 'The'} tip is {tip}" if tip else text


def haft(v: V) -> str:
    """Word `haft`."""
    count, notches, shoulders, stem = v["count"], v["notches"], v["shoulders"], v["stem"]
    long = " in length" if "long" in stem.present else " long"
    size = f"{stem.size}{long}" if stem.size else ""
    n = (count or notches) and notches.sure and not count.maybe
    s, t = shoulders and shoulders.sure, stem and stem.sure
    text = _joined(v, size, n, s, t)
    if v["base"]:
        base = article(f"{', '.join(v['base'])} base")
        text += f"{', with ' if stem.size else ' with '}{base}"
    doubtful = [text] if text else []
    if not n and notches:
        doubtful.append(f"the notches, if any, are {notches.present}")
    if not n and count:
        doubtful.append(f"the notches, if any, number {count.present}")
    if not s and shoulders:
        doubtful.append(f"the shoulders, if any, are {shoulders.present}")
    if not t and stem:
        doubtful.append(f"the stem, if any, is {listed((*stem.after, size))}")
    return "; ".join(doubtful)


def _joined(v: V, size: str, n: bool, s: bool, t: bool) -> str:
    """Join the parts that are certainly there: notches, shoulders, stem."""
    count, notches, shoulders, stem = v["count"], v["notches"], v["shoulders"], v["stem"]
    notched = f"{count.attributive} {notches.attributive} notches" if n else ""
    stemmed = f"{article(f'{stem.attributive} stem')}{f', {size}' if size else ''}" if t else ""
    if n and s:
        end = f" from {stemmed}" if t else ""
        return f"{notched} set off {shoulders.attributive} shoulders{end}"
    if s and t:
        return f"{shoulders.attributive} shoulders pass into {stemmed}"
    if n and t:
        return f"{notched} leave {stemmed}"
    if n:
        return f"there are {notched}" if count else f"the notches are {notches.present}"
    if s:
        return f"the shoulders are {shoulders.present}"
    return f"the stem is {listed((*stem.after, size))}" if t else ""


def barbs(v: V) -> str:
    """Word `barbs`."""
    tip, reach = v["barb_tip"], v["barb_reach"]
    told = [f"are {tip.present}"] if tip else []
    told += [f"end {reach.present}"] if reach else []
    return f"The barbs{', if any,' if tip.maybe or reach.maybe else ''} {' and '.join(told)}"


def base(v: V) -> str:
    """Word `base`."""
    ears, grinding, width = v["ears"], v["grinding"], v["width"]
    main = [str(v["shape"]), f"{width} {v['against']}" if width else "", str(v["finish"])]
    main.append(str(v["thinning"]))
    traits = [text for text in main if text]
    on_base = bool(traits)
    if grinding.absent:
        traits.append(str(grinding))
    if v["unfluted"]:
        traits.append(v["unfluted"])
    eared = f"{'may have' if ears.maybe else 'has'} {ears.attributive} ears" if ears else ""
    if traits and on_base:
        text = f"The base is {listed(traits)}"
        if ears:
            text += f", and {eared}" if ears.maybe else f", with {ears.attributive} ears"
    elif traits:
        text = f"The haft is {listed(traits)}{f', and the base {eared}' if ears else ''}"
    else:
        text = f"The base {eared}" if ears else ""
    if grinding and not grinding.absent:
        text += f"{'; the' if text else 'The'} haft is {grinding}"
    return text


def margins(v: V) -> str:
    """Word `margins`."""
    sides, edge, waisted, grinding = (
        v[name] for name in ("haft_sides", "haft_edge", "haft_waist", "haft_grinding")
    )
    waist = ""
    if waisted.absent:
        waist = "no waist above the base"
    elif waisted.maybe and waisted.ids == ("slight",):
        waist = "at most a slight waist above the base"
    elif waisted.maybe:
        waist = f"either {article(waisted.attributive)} waist or none above the base"
    elif waisted:
        waist = f"{article(waisted.attributive)} waist above the base"
    text = ""
    if sides.maybe:
        run = listed((sides.present, edge))
        text = f"Unless the haft is stemmed or notched, its margins are {run}"
    elif sides or edge:
        text = f"The haft {'margins' if sides else 'edges'} are {listed((sides, edge))}"
    if waist:
        text = f"{text}, with {waist}" if text else f"The haft has {waist}"
    if grinding:
        text += f"; the haft is {grinding}" if sides or edge else f" and is {grinding}"
    return text


def flutes(v: V) -> str:
    """Word `flutes`."""
    fluting, length = v["fluting"], v["flute_length"]
    if not fluting:
        return f"The flute{', if any,' if length.maybe else ''} runs {length.present}"
    text = f"The piece is {fluting}"
    if length and (fluting.maybe or length.maybe):
        return f"{text}; the flute, if any, runs {length.present}"
    return f"{text}, {length.present}" if length else text


def section(v: V) -> str:
    """Word `section`."""
    across, flaking = v["cross_section"], v["flaking"]
    if not across:
        return f"The flaking is {flaking}"
    return f"The blade is {across} in section{f', with {flaking} flaking' if flaking else ''}"


def use(v: V) -> str:
    """Word `use`."""
    wear, tool = v["resharpening"], v["reworked_as"]
    text = ""
    if wear.absent:
        text = "No resharpening is seen"
    elif wear:
        attempt = ", if at all" if wear.maybe else ""
        text = f"The blade was {wear.attributive} resharpened{attempt}"
    if not tool:
        return text
    join = ", but the" if wear.absent else ", and the" if wear else "The"
    verb = "may have been" if tool.maybe else "was"
    return f"{text}{join} piece {verb} reworked into {tool.present}"


def unseen(v: V) -> str:
    """Word `unseen`."""
    parts, told = v["parts"], []
    if parts:
        do = "do" if len(parts) > 1 or parts[0].endswith("s") else "does"
        told.append(f"the {listed(parts)} {do} not survive")
    if v["hidden"]:
        told.append(f"{some(v['hidden'], 4, 'observations')} could not be observed")
    if v["undecided"]:
        told.append(f"{some(v['undecided'], 4, 'observations')} could not be decided")
    return clauses(told)


def disagreement(v: V) -> str:
    """Word `disagreement`."""
    be, it = ("are", "them") if v["plural"] else ("is", "it")
    measured = f"measurement ({v['figures']}) makes {it} {v['measured']}"
    return f"By eye the {v['subject']} {be} {v['seen']}; {measured}"


Worder = Callable[[V], str]
OF_THE_FORM: Mapping[str, Worder] = {
    "piece": piece,
    "measures": measures,
    "blade": blade,
    "haft": haft,
    "barbs": barbs,
    "base": base,
    "margins": margins,
    "flutes": flutes,
    "section": section,
    "use": use,
    "unseen": unseen,
    "disagreement": disagreement,
}
