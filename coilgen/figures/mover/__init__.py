"""What the mover of an array does: voltages, torque or thrust, speeds, pull."""
