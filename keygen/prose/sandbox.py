"""Where templates are rendered: a sandbox, and a bounded one for templates of strangers.

Jinja's own sandbox keeps a template from reaching what it was not given. It does not keep it from
taking all memory or all time. So in the user's templates each expression is rewritten to pass
through `_charged`, each loop through `_counted`, and only filters and functions are there that
cannot make much out of little.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Generator, Iterable, Iterator, Mapping, MutableMapping
from dataclasses import fields, is_dataclass
from functools import cached_property, partial, update_wrapper
from itertools import islice
from types import BuiltinMethodType, MethodType
from typing import Any, cast

from jinja2 import Environment, Template, TemplateError, Undefined, nodes, pass_eval_context
from jinja2.exceptions import SecurityError
from jinja2.filters import FILTERS
from jinja2.nodes import EvalContext
from jinja2.runtime import BlockReference, Context, LoopContext, Macro, markup_join, str_join
from jinja2.sandbox import ImmutableSandboxedEnvironment
from jinja2.utils import missing

from keygen.prose.facts import Part
from keygen.prose.rewriting import SHARE, rewritten
from keygen.prose.seen import Seen

OWN = frozenset({Seen, Part})
KNOWN = OWN | {LoopContext}
MOST_SIGNS = 100_000  # of one value, and of all that a sentence says; more where more was given
MOST_WORK = 50_000  # passes of loops and single steps; more where more was given
ITEM = 8  # an item of a list counts as so many signs
MOST_GIVEN = 50_000_000  # signs and items beyond which what was given is not counted further
MOST_BITS = 4096  # of a whole number
_HALF = re.compile("[\ud800-\udfff]")
_PLAIN = (str, int, float, type(None))
_FILTERS = (
    *("abs", "count", "d", "default", "dictsort", "first", "float", "groupby", "int", "items"),
    *("last", "length", "list", "map", "max", "min", "reject", "rejectattr", "reverse", "select"),
    *("selectattr", "sort", "unique"),
)
_OF_TEXT = (
    *("capitalize", "e", "escape", "lower", "safe", "string", "title", "trim", "truncate"),
    *("upper", "wordcount"),
)
_METHODS: Mapping[type, frozenset[str]] = {
    str: frozenset(
        (
            *("capitalize", "casefold", "count", "endswith", "find", "index", "isalnum"),
            *("isalpha", "isdigit", "islower", "isnumeric", "isspace", "isupper", "lower"),
            *("lstrip", "partition", "removeprefix", "removesuffix", "rfind", "rindex"),
            *("rpartition", "rsplit", "rstrip", "split", "splitlines", "startswith", "strip"),
            *("swapcase", "title", "upper"),
        )
    ),
    dict: frozenset(("get", "items", "keys", "values")),
    list: frozenset(("count", "index")),
    tuple: frozenset(("count", "index")),
    LoopContext: frozenset(("changed", "cycle")),
}


class Names(dict[str, Any]):
    """Values by the names that a template has for them; a name without one is Jinja's `missing`."""

    def __missing__(self, name: str) -> Any:
        return missing


class Given(Context):
    """What one rendering is given; what only few templates ask for is made when they do."""

    def __init__(
        self,
        environment: Environment,
        parent: dict[str, Any],
        name: str | None,
        blocks: dict[str, Callable[[Context], Iterator[str]]],
        globals: MutableMapping[str, Any] | None = None,  # noqa: A002  Jinja's name
    ) -> None:
        self.environment, self.parent, self.name = environment, parent, name
        self.vars, self.exported_vars = {}, set()
        self.blocks = {block: [render] for block, render in blocks.items()}
        self._common = globals
        if not blocks and isinstance(parent, Names):  # only blocks look up what a template sets
            self.resolve_or_missing = parent.__getitem__  # type: ignore[method-assign, assignment]

    @cached_property
    def eval_ctx(self) -> EvalContext:  # type: ignore[override]
        """Return how values are escaped."""
        return EvalContext(self.environment, self.name)

    @cached_property
    def globals_keys(self) -> set[str]:  # type: ignore[override]
        """Return the names that every template can use."""
        return set(self._common or ())


class Sandbox(ImmutableSandboxedEnvironment):
    """A sandbox that does not ask twice about our own frozen facts, and the loop over them."""

    context_class = Given

    def getattr(self, obj: Any, attribute: str) -> Any:
        """Return an attribute of what a template was given."""
        if type(obj) in KNOWN and attribute[:1] != "_" and hasattr(obj, attribute):
            return getattr(obj, attribute)
        return super().getattr(obj, attribute)

    def add(self, filters: Mapping[str, Callable[..., object]]) -> None:
        """Add filters of our own, which make text."""
        self.filters |= filters


class Bounded(Sandbox):
    """A sandbox in which a template ends soon and says no more than its facts warrant."""

    intercepted_binops = frozenset(("+", "*", "**", "%"))

    def __init__(self, **options: Any) -> None:
        super().__init__(optimized=False, finalize=_text, **options)
        self.work, self.signs = MOST_WORK, MOST_SIGNS
        self.costs: dict[str | None, int] = {}
        self.globals = {"range": self._range}
        own = {"charged": self._charged, "counted": self._counted, "joined": self._joined}
        self.filters = {name: FILTERS[name] for name in _FILTERS} | own
        self.filters |= {name: _of_text(FILTERS[name]) for name in _OF_TEXT}
        self.filters |= {"join": self._join, "replace": self._replace, "round": _round, "sum": _sum}

    def add(self, filters: Mapping[str, Callable[..., object]]) -> None:
        """Add filters that join texts; what they are given is looked at first."""
        self.filters |= {name: partial(self._with_texts, one) for name, one in filters.items()}

    def begin(self, values: Mapping[str, object]) -> None:
        """Begin a rendering: what may be spent depends on how much was given."""
        given = _weight(list(values.values()), MOST_GIVEN)
        self.work, self.signs = MOST_WORK + 4 * given, MOST_SIGNS + 4 * given

    def spend(self, work: int) -> None:
        """Take work off what is left.

        Raises:
            TemplateError: nothing is left.
        """
        self.work -= work
        if self.work < 0:
            raise TemplateError("this takes too long: a loop or a call goes on and on")

    def whole(self, parts: Iterator[str], values: Mapping[str, object]) -> str:
        """Return what a template says of some values, if it is not too much.

        Raises:
            TemplateError: it is, or holds half of a character.
        """
        self.begin(values)
        parts = cast("Generator[str, None, None]", parts)
        said: list[str] = []
        left = self.signs
        for part in parts:
            left -= len(part)
            if left < 0:  # thrown where the template stands, so that its line is known
                parts.throw(TemplateError("this says too much"))
            if not part.isascii() and _HALF.search(part):
                parts.throw(TemplateError("half of a character stands here"))
            said.append(part)
        return "".join(said)

    def call(self, context: Any, called: Any, /, *args: Any, **kwargs: Any) -> Any:
        """Call what may be called."""
        self.spend(1)
        if not self._may_be_called(called):
            name = getattr(called, "__name__", type(called).__name__)
            raise SecurityError(f"{name!r} cannot be called here")
        if isinstance(called, LoopContext):  # a loop within itself
            args = (self._counted(args[0]), *args[1:]) if args else args
        return self._charged(super().call(context, called, *args, **kwargs))

    def call_binop(self, context: Any, operator: str, left: Any, right: Any) -> Any:
        """Work out `+`, `*`, `**` or `%`, unless the result would be too large."""
        if operator == "%" and isinstance(left, str):
            raise SecurityError("texts are not filled in with %; write {{ ... }} or ~")
        if isinstance(left, int) and isinstance(right, int):
            factor = right if operator == "**" else 1
            if left.bit_length() * max(factor, 1) + right.bit_length() > MOST_BITS:
                raise TemplateError("this number is too large")
        elif operator == "*":
            for one, other in ((left, right), (right, left)):
                if isinstance(other, int) and isinstance(one, str | list | tuple):
                    self._room(len(one) * other)
        return self._charged(super().call_binop(context, operator, left, right))

    def _load_template(self, name: str, given: Any) -> Template:
        """Return a template that is rendered or included, at the price of its length."""
        found = super()._load_template(name, given)
        self.spend(self.costs.get(found.name, 1))
        return found

    def _parse(self, source: str, name: str | None, filename: str | None) -> nodes.Template:
        self.costs[name] = 1 + len(source) // SHARE
        return rewritten(self, source, name, filename)

    def _may_be_called(self, called: Any) -> bool:
        """Tell whether this is a macro, a block, or a method that makes little."""
        if isinstance(called, Macro | BlockReference | LoopContext) or called == self._range:
            return True
        if not isinstance(called, BuiltinMethodType | MethodType):
            return False
        owner = type(called.__self__)
        return owner in OWN or any(
            issubclass(owner, kind) and called.__name__ in names for kind, names in _METHODS.items()
        )

    def _room(self, signs: int) -> None:
        if signs > self.signs:
            raise TemplateError("this text or list is too long")
        self.spend(max(signs, 0) // SHARE)

    def _charged(self, value: Any) -> Any:
        """Pass a value on, at the price of its size."""
        self.work -= 1
        if isinstance(value, str):
            self._room(len(value))
        elif isinstance(value, list | tuple | dict):
            self._room(_weight(value, self.signs))
        return value

    def _counted(self, items: Any, price: int = 1) -> Iterator[Any]:
        """Yield what a loop goes through, at the price of its body for each pass."""
        for item in items:
            self.spend(price)
            yield item

    def _range(self, *bounds: int) -> range:
        found = range(*bounds)
        self._room(ITEM * (found[-1] - found[0]) // found.step if found else 0)
        return found

    @pass_eval_context
    def _joined(self, context: EvalContext, items: list[Any]) -> str:
        """Join the operands of `~`."""
        texts = [_text(item) for item in items]
        self._room(sum(len(str(text)) for text in texts))
        return markup_join(texts) if context.autoescape else str_join(texts)

    @pass_eval_context
    def _join(
        self, context: EvalContext, items: Any, between: str = "", attribute: Any = None
    ) -> str:
        if attribute is not None:
            raise SecurityError("join takes no attribute here; use map")
        texts = self._texts(items)
        self._room(len(texts) * len(str(_text(between))))
        return FILTERS["join"](context, texts, between)  # type: ignore[no-any-return]

    @pass_eval_context
    def _replace(self, context: EvalContext, text: Any, old: str, new: str) -> str:
        told = str(_text(text))
        self._room(len(told) + told.count(str(_text(old))) * len(str(_text(new))))
        return FILTERS["replace"](context, text, old, new)  # type: ignore[no-any-return]

    def _texts(self, items: Any) -> list[Any]:
        """Return items that are all texts and together not too long."""
        texts = [_text(item) for item in islice(items, self.signs)]
        self._room(len(texts) + sum(len(str(text)) for text in texts))
        return texts

    def _with_texts(self, filtered: Callable[..., object], value: Any, *more: Any) -> Any:
        single = isinstance(value, _PLAIN) or type(value) in OWN
        return filtered(value if single else self._texts(value), *more)


def _weight(value: object, most: float = float("inf")) -> int:
    """Return how many signs and items a value holds, the nested ones too; stop beyond the most."""
    total, left = 0, [value]
    while left and total <= most:
        one = left.pop()
        total += ITEM
        if isinstance(one, str):
            total += len(one)
        elif isinstance(one, list | tuple | set | frozenset):
            left += one
        elif isinstance(one, Mapping):
            left += one.keys()
            left += one.values()
        elif is_dataclass(one) and type(one) not in OWN:
            left += [getattr(one, f.name) for f in fields(one)]
    return total


def _text(value: Any) -> Any:
    """Pass on what is text; a list or a thing within a list would be shown as a program has it."""
    if isinstance(value, (*_PLAIN, Undefined)) or type(value) in OWN or hasattr(value, "__html__"):
        return value
    raise SecurityError(f"a {type(value).__name__} is no text; join its items, or name one")


def _of_text(filtered: Callable[..., object]) -> Callable[..., object]:
    """Return a filter that looks at what it is given first."""

    def checked(*args: Any, **more: Any) -> object:
        for value in args:
            if not isinstance(value, (Environment, EvalContext)):
                _text(value)
        return filtered(*args, **more)

    return update_wrapper(checked, filtered)


def _sum(numbers: Iterable[float]) -> float:
    return sum(numbers)  # with no beginning of another kind, to which lists could be added


def _round(value: float, digits: int = 0, method: str = "common") -> float:
    if not -20 < digits < 20:
        raise TemplateError("so many digits are not kept")
    return FILTERS["round"](value, digits, method)  # type: ignore[no-any-return]
