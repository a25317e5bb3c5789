"""The evidence pack of a time window: what the system saw and what people did, sealed."""
