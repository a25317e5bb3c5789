"""The calibration ledger and the windows in which detectors are tested."""
