# Puesta en servicio de gabinetes, y deriva.
