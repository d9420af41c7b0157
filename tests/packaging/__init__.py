"""The wheel and the two commands of the README."""
