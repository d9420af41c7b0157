"""Tests of the amounts room."""
