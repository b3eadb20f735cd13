"""Law: what can be drawn at the far end of a run, and which port suits which device."""
