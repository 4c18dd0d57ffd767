"""Templates rewritten so that what they do is counted, see `keygen.prose.sandbox`."""

from __future__ import annotations

from typing import Any, cast

from jinja2 import Environment, TemplateSyntaxError, nodes
from jinja2.parser import Parser
from jinja2.visitor import NodeTransformer

SHARE = 16  # so many signs cost as much as one step
MOST_DEPTH, MOST_LOOPS = 80, 15  # of what is nested
_DEEP = "this is nested too deeply"


def rewritten(
    environment: Environment, source: str, name: str | None, file: str | None
) -> nodes.Template:
    """Parse a template and put checks around its expressions and loops.

    They are filters that the environment has to have: `charged` for what may be large, `joined` for
    the operands of `~`, `counted` for what a loop goes through, with the price of a pass.

    Raises:
        TemplateSyntaxError: it is no template, or nested too deeply.
    """
    parser = Parser(environment, source, name, file)
    try:
        tree = parser.parse()
        _Rewriting(name, file).visit(tree)
    except (RecursionError, ValueError) as error:  # too deep, or a number with too many digits
        what = _DEEP if isinstance(error, RecursionError) else str(error).partition(";")[0]
        raise TemplateSyntaxError(what, parser.stream.current.lineno, name, file) from None
    tree.set_environment(environment)
    return tree


class _Rewriting(NodeTransformer):
    """Puts the checks in their places."""

    def __init__(self, name: str | None, file: str | None) -> None:
        self.name, self.file = name, file
        self.around: list[nodes.Node] = []

    def visit(self, node: nodes.Node, *_: Any, **__: Any) -> Any:
        """Rewrite a node; neither we nor Python can follow what is nested without end."""
        self.around.append(node)
        loops = sum(isinstance(one, nodes.For) for one in self.around)
        if len(self.around) > MOST_DEPTH or loops > MOST_LOOPS:
            raise TemplateSyntaxError(_DEEP, node.lineno, self.name, self.file)
        try:
            return self._made(node) if isinstance(node, nodes.Expr) else self._done(node)
        finally:
            self.around.pop()

    def _done(self, node: nodes.Node) -> nodes.Node:
        self.generic_visit(node)
        if isinstance(node, nodes.For):
            signs = sum(len(data.data) for data in node.find_all(nodes.TemplateData))
            steps = sum(1 for _ in node.find_all(nodes.Node))
            price = nodes.Const(1 + (signs + steps) // SHARE)
            node.iter = _through("counted", cast("nodes.Expr", node.iter), price)
        return node

    def _made(self, node: nodes.Expr) -> nodes.Expr:
        self.generic_visit(node)
        if isinstance(node, nodes.Concat):
            return _through("joined", nodes.List(node.nodes, lineno=node.lineno))
        if getattr(node, "ctx", "load") != "load":  # what is assigned to
            return node
        sized = (nodes.Name, nodes.Filter, nodes.List, nodes.Tuple, nodes.Dict)
        return _through("charged", node) if isinstance(node, sized) else node


def _through(name: str, node: nodes.Expr, *args: nodes.Expr) -> nodes.Filter:
    return nodes.Filter(node, name, [*args], [], None, None, lineno=node.lineno)
