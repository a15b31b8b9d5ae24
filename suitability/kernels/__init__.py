"""Compiled loops: plain arrays and floats in and out; no file, no settings, no CRS."""
