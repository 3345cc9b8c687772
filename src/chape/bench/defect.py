"""Errors that chape did not raise on purpose, told from one process to another."""


class DefectError(Exception):
    """A defect; its text is the name of what escaped there."""
