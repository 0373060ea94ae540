package elm

import (
	"slices"

	"judder/obd"
	"judder/obd/reply"
)

// dataErrorMark ends a line that is damaged (a row of reply's statuses).
const dataErrorMark = "<DATA ERROR"

// lacksPrompt reports whether a whole reply to a request of a drive is there, so that the prompt
// alone is missing.
func lacksPrompt(x *obd.Exchange) bool {
	n := len(x.Lines)
	if n == 0 || !reply.OfDrive(x.Request) {
		return false
	}
	a := reply.ParseQuestion(x.Request)
	waits := func(l obd.Line) bool { return reply.MayRefuse(x.Request, l.Text) && !a.NamedIn(l.Text) } // and the adapter with it
	return x.Lines[n-1].At >= x.Sent && !slices.ContainsFunc(x.Lines, waits) && reply.Answers(x)
}
