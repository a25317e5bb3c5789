"""What each repair did: alarms and the line before and after, and whether it held."""
