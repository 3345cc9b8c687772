"""Runs the stages in order; the only package that knows every one of them."""
