"""The car as it stands: identity, panels, findings and how each finding ended."""
