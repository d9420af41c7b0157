"""What work is worth: estimates, sale terms and the decision."""
