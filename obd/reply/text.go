package reply

import (
	"slices"
	"strings"

	"github.com/judder-obd/judder/obd"
)

// What the raw lines of an exchange say, before anything is decoded.

// Why is the status text that called for an action, and what it means, in brackets.
func Why(x *obd.Exchange, action Action) string {
	for _, l := range x.Lines {
		if st, _ := StatusOf(strings.TrimSpace(l.Text)); st != nil && st.Action == action {
			return " (" + st.Text + ": " + st.Means + ")"
		}
	}
	return ""
}

// Worst is the gravest action that the lines of a reply call for.
func Worst(x *obd.Exchange) Action {
	w := ActNothing
	for _, l := range x.Lines {
		if st, _ := StatusOf(strings.TrimSpace(l.Text)); st != nil {
			w = max(w, st.Action)
		}
	}
	return w
}

// Says reports whether a line of a reply is this text.
func Says(x *obd.Exchange, text string) bool {
	for i := range x.Lines {
		if len(x.Lines[i].Text) < 2*len(text) && strings.TrimSpace(x.Lines[i].Text) == text {
			return true
		}
	}
	return false
}

// OfDrive reports whether a request is of those that a drive repeats: parameters (SAE J1979, or
// its successor's page of identifiers).
func OfDrive(request string) bool {
	return strings.HasPrefix(request, "01") || strings.HasPrefix(request, "22F4")
}

// TellsVIN reports whether the answer to a request holds the identification number (SAE J1979
// service 09, SAE J1979-2, ISO 14229-1).
func TellsVIN(request string) bool {
	return strings.HasPrefix(request, "0902") || strings.HasPrefix(request, "22F802") || strings.HasPrefix(request, "22F190")
}

// LacksPrompt reports whether a whole reply to a request that a drive repeats is there, so that
// only the prompt is missing. A text that says what became of the request is one too; that the
// adapter looks for the car is not. Where an ECU asks to wait, the adapter waits for its answer.
func LacksPrompt(x *obd.Exchange) bool {
	n := len(x.Lines)
	if n == 0 || !OfDrive(x.Request) || x.Lines[n-1].At < x.Sent {
		return false
	}
	r := ParseRequest(x.Request)
	answered := false
	for i := range x.Lines {
		text := x.Lines[i].Text
		st, _ := StatusOf(strings.TrimSpace(text))
		named := r.NamedIn(text)
		if !named && mayRefuse(x.Request, text) {
			return false
		}
		answered = answered || named || st != nil && st.Action > ActNothing
	}
	return answered
}

// mayRefuse reports whether a line may hold a refusal of the request (7F and its service), or
// "wait".
func mayRefuse(request, line string) bool {
	return strings.Contains(strings.ReplaceAll(line, " ", ""), "7F"+request[:2])
}

// MayAnswer reports whether some line can be the answer to the request: a status text, or
// anything that holds the first bytes of a reply to it. The adapter's own commands are not
// answered by a frame or by what is said of a request to the car.
func MayAnswer(x *obd.Exchange) bool {
	r := ParseRequest(x.Request)
	if x.Request == "" {
		return true // nothing was asked
	}
	if !r.ToCar() {
		return slices.ContainsFunc(x.Lines, func(l obd.Line) bool { return l.At >= x.Sent && !FromCar(strings.TrimSpace(l.Text)) })
	}
	return slices.ContainsFunc(x.Lines, func(l obd.Line) bool {
		st, _ := StatusOf(strings.TrimSpace(l.Text))
		return st != nil && st.Text != "OK" || mayRefuse(x.Request, l.Text) || r.NamedIn(l.Text)
	})
}

// FromCar reports whether a line is about a request to the car: a frame, or that there was none.
// The adapter's own shortest answers (a protocol number, a voltage) are no frames.
func FromCar(text string) bool {
	const shortest = 6 // hex digits of a bare reply
	if text == "NO DATA" {
		return true
	}
	digits := 0
	for i := range len(text) {
		switch {
		case obd.IsHex(text[i]):
			digits++
		case text[i] != ' ':
			return false
		}
	}
	return digits >= shortest
}
