# Running the program itself: backups, downtime, disk, offline entry.
