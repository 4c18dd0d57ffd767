"""The pure core: states, model, walk, measurements and call. No input or output."""
