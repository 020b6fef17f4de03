# Proof in the web app: logger files, verdicts, signatures, calibration.
