package fact

// StepOf is the step of a job that a fact was put in at; "" for what only follows, and
// for a press set aside.
func StepOf(f Fact) string {
	switch f := f.(type) {
	case Pressed:
		if f.Outcome == Aside {
			return ""
		}
		return f.Step
	case PacksIn:
		return f.Step
	case Marked:
		return f.Step
	case Answered:
		return f.Step
	case Confirmed:
		return f.Step
	case Fitted:
		return f.Step
	case Changed:
		return f.Step
	case Seen:
		return f.Step
	case MoveWanted:
		return f.Step
	case Again:
		return f.Step
	}
	return ""
}
