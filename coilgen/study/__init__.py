"""Many designs at once. Each study takes designs and returns values; nothing here prints or writes."""
