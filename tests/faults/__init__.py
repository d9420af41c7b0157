"""The book when things go wrong around it: kills, full disks, lost servers, strange drives."""
