"""Record: the only room that touches what was written down. Store, merge, attachments, tables' bytes."""
