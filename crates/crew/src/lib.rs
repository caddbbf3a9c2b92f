//! Tasks in order of precedence, working days, machines per day.
