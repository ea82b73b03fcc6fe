"""What the package needs of the machine: files, processes, memory and the solver libraries."""
