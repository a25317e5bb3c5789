"""The setpoint study: what other settings would have done with this ship's own history."""
