"""Numerics that know nothing of knives: conduction, probability of outcomes."""
