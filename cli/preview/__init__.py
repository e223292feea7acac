"""``staveline preview``: a job's sheets on a page of this machine, which follows the file as it is saved."""
