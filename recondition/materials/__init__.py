"""What the work uses up: products and what an amount of them costs."""
