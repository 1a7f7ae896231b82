"""Heat: still air, radiation, spreading in boards, steady states, warming, pulses."""
