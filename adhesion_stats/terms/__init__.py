"""Terms: what a contract asks (specification, criteria) and how a readings file is laid out. Data, no decisions."""
