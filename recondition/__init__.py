"""recondition: the ledger a collector-car preparer keeps from arrival to sale."""

__version__ = "0.1.0"
