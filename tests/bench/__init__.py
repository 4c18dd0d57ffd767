"""Benchmarks: ratios measured in one run; nothing here is a test."""
