"""Facts into words: grammar, facts, and the rendering of templates."""

from keygen.prose.describe import describe, describe_all
from keygen.prose.plaindata import FORMAT_VERSION, to_json
from keygen.prose.render import REGISTERS, Register, Sentence, sentences
from keygen.prose.trace import trace

__all__ = [
    "FORMAT_VERSION",
    "REGISTERS",
    "Register",
    "Sentence",
    "describe",
    "describe_all",
    "sentences",
    "to_json",
    "trace",
]
