"""What comes in from outside and means harm: any bytes, fuzzed readers, named tricks."""
