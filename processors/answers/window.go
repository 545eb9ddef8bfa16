package answers

// windowSQL is the distance to the launch window of a trial.
func windowSQL() string { return "nan AS window, 0 AS window_ss, 0 AS window_n" }
