"""Drawings of pieces, types and the key, as SVG and pages, from coded attributes."""
