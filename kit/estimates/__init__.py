"""Estimates: pure formulas of quantities, one subject a file; they know nothing of tubes and routes."""
