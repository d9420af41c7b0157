"""What the books say: the cost of each vehicle and what it is made of."""
