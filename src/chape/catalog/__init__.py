"""What things are made of and made with, read from data files."""
