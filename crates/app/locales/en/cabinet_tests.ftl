# Commissioning of cabinets, and drift.
