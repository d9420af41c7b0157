"""The ledger: line items, how they are priced and shared, and the chain that holds them."""
