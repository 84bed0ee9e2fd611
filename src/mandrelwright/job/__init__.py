"""What the builder states: the job file, the material library, readings and corrections."""
