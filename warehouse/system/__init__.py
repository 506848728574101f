"""The operating system: locks, durable files, memory and limits of processes; Linux first."""
