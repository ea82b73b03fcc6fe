"""Every finding about a selection, in the trade's words."""
