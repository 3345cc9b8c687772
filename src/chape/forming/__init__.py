"""Forming: heat, vacuum, drape and cold, before a sheet is spoiled."""
