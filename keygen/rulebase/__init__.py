"""The rules folder on disk, into the model: strict YAML, checks and proofs, cache."""
