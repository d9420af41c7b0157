"""Tests of what work is worth."""
