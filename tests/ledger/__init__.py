"""The pure ledger: pricing, the codec, the chain's text."""
