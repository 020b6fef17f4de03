### Looking after the tool: times it was off, backups, room, open files, entries while the server is away
ops-title = Backups and upkeep
ops-minutes = { $count ->
    [one] 1 minute
   *[other] { $count } minutes
}
ops-hours = { $count ->
    [one] 1 hour
   *[other] { $count } hours
}
ops-days = { $count ->
    [one] 1 day
   *[other] { $count } days
}

## The program was off
ops-off-title = Times this program was off
ops-off-question = This program was off from { $from } to { $to }. Was the dryer off too?
ops-off-more = Nothing was recorded in that time. A power cut stops both; what it did to the product must be judged.
ops-off-yes = Yes, or not sure: enter the interruption
ops-off-no = No, the dryer ran on
ops-off-none = None in the last 14 days.
ops-clock-back = The clock of this machine was set back by { $time }
ops-clock-back-more = Times of new entries may be wrong. Set the clock right, then start the program again.

## Backups
ops-backups = Backups
ops-backup-unset = No second place for backups is set. If this disk fails, every record is lost.
ops-backup-none = No backup yet.
ops-backup-fault = No backup: the folder cannot be used.
ops-backup-age = Last backup { $time } ago.
ops-backup-fault-age = The last try failed. Last backup { $time } ago.
ops-backup-same-disk = This seems to be the disk the records are on. If it fails, both are lost. Take a folder on another disk, a USB stick or another machine.
ops-backup-folder = Folder for backups, on this machine
ops-backup-folder-more = On another disk, with its whole path. A backup is made every day while the program runs; the last 60 are kept.
ops-backup-folder-save = Keep this folder
ops-backup-now = Back up now
ops-backup-done = Backed up: { $entries } entries, in { $place }
ops-restore-more = A backup is put in place at the machine itself, with the command
ops-copy-failed = Not done. { $why }
ops-folder-relative = Write the whole path of the folder, from its beginning.

## Room
ops-room = Room on the disks
ops-room-records = Records: { $free } free of { $all }
ops-room-backups = Backups: { $free } free of { $all }
ops-room-unknown = The system does not tell how much room is left.
ops-room-low = Only { $free } free on the disk of the records. Make room this week.
ops-room-low-backup = Only { $free } free on the disk of the backups. Make room this week.
ops-room-urgent = Disk nearly full: { $free } free
ops-room-urgent-more = Make room now. When it is full no entry can be kept, and the page says so; then write on paper.
ops-place = The records are in

## Open files
ops-open-files = Everything as open files
ops-open-files-more = Every record as text that needs no program to read, with the files it rests on. A check of the seals is part of it.
ops-export = Write everything out
ops-export-folder = New folder, on this machine
ops-export-more = It must not exist yet. Nothing is changed here.
ops-export-done = Written out: { $entries } entries, to { $place }
ops-import = Read an export in
ops-import-folder = Folder of the export, on this machine
ops-import-more = Everything in it is checked first. What is here already stays; what parted from it is refused.
ops-import-done = Read in: { $entries } new entries, from { $place }

## Keeping
ops-keeping = How long records are kept
ops-keeping-none = No record is past its time of keeping.
ops-keeping-due = The time of keeping of these records is over. Nothing is taken away by itself.
ops-keeping-until = to be kept until { $day }

## Entries while the server is away
ops-queue-title = Entries in this device
ops-queue-away = The server cannot be reached. This page is as of { $time }.
ops-queue-waiting = Waiting in this device: { $number }. Not yet in the record; leave this page open.
ops-queue-other = Some were made by somebody else, who must sign in here again.
ops-queue-full = This device cannot keep the entry. Write it on paper.
ops-queue-discard = Discard
ops-queue-promise = An open page keeps entries while the server cannot be reached: each with its time, each delivered once, in order. They are not in the record before the page says so.
ops-queue-https = Closing or reloading the page while the server is away is safe only over an encrypted connection (https).
ops-queue-no-script = Without script this page keeps nothing: an entry that finds no server is lost. Write it on paper.
