"""The room `radio`: where a signal arrives, how sure that is, and which reading would tell most."""
