"""keygen: describe chipped-stone points, and say which types they can be in a region and why."""

__version__ = "0.1.0"
