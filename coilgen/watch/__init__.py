"""The live page of one design: its state, numbers to try, answers to requests. No disk, no sockets."""
