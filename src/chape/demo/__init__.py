"""Knives of our own invention to try chape with."""
