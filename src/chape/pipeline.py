"""Runs the stages in order; the only module that knows every one of them."""
