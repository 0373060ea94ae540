package reply

import (
	"bytes"
	"judder/obd"
	"slices"
	"strings"
)

// WholeLines is how many reply lines there were if each was one whole message and none a
// refusal; else 0.
func WholeLines(x *obd.Exchange, messages []Message) int {
	if len(messages) != len(x.Lines) {
		return 0
	}
	for _, m := range messages {
		if _, refused := m.Negative(); refused {
			return 0
		}
	}
	return len(messages)
}

// Answered tells whether the request itself was answered, by a reply that can be decoded.
func Answered(messages []Message) bool { return ownReplies(messages) > 0 }

// ownReplies is how many replies answer the request itself.
func ownReplies(messages []Message) (n int) {
	for _, m := range messages {
		if _, refused := m.Negative(); !refused && !m.Late {
			n++
		}
	}
	return n
}

// Differ tells whether the request was answered in more ways than one.
func Differ(messages []Message) bool {
	var first []byte
	for _, m := range messages {
		if _, refused := m.Negative(); refused || m.Late {
			continue
		}
		if first != nil && !bytes.Equal(first, m.Data) {
			return true
		}
		first = m.Data
	}
	return false
}

// AnyBare tells whether a reply came without the header it should have: the adapter has
// lost its settings and said nothing.
func AnyBare(messages []Message) bool {
	for _, m := range messages {
		if m.Bare {
			return true
		}
	}
	return false
}

// ResponsePending is the negative code that says: received, the answer comes later
// (ISO 14229-1). The request must not be sent again meanwhile.
const ResponsePending = 0x78

// AnyWaits reports whether one of the messages says that its reply comes later.
func AnyWaits(messages []Message) bool {
	return slices.ContainsFunc(messages, Message.Waits)
}

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

// Says tells whether a line of a reply is this text.
func Says(x *obd.Exchange, text string) bool {
	for i := range x.Lines {
		if len(x.Lines[i].Text) < 2*len(text) && strings.TrimSpace(x.Lines[i].Text) == text {
			return true
		}
	}
	return false
}

// Answers tells whether some line is a reply to the request, or says what became of it; that the
// adapter looks for the car says neither.
func Answers(x *obd.Exchange) bool {
	a := ParseQuestion(x.Request)
	return slices.ContainsFunc(x.Lines, func(l obd.Line) bool {
		st, _ := StatusOf(strings.TrimSpace(l.Text))
		return st != nil && st.Action > ActNothing || a.NamedIn(l.Text)
	})
}

// OfDrive tells whether a request is of those that a drive repeats: parameters (SAE J1979, or its
// successor's page of identifiers).
func OfDrive(request string) bool {
	return strings.HasPrefix(request, "01") || strings.HasPrefix(request, "22F4")
}

// LacksPrompt reports whether a whole reply is there to a request that a drive repeats, so that
// only the prompt is missing. Where an ECU asks to wait, the adapter waits for its answer.
func LacksPrompt(x *obd.Exchange) bool {
	n := len(x.Lines)
	if n == 0 || !OfDrive(x.Request) || x.Lines[n-1].At < x.Sent {
		return false
	}
	q := ParseQuestion(x.Request)
	waits := func(l obd.Line) bool { return MayRefuse(x.Request, l.Text) && !q.NamedIn(l.Text) }
	return !slices.ContainsFunc(x.Lines, waits) && Answers(x)
}

// MayRefuse tells whether a line may hold a refusal of the request (7F and its service), or "wait".
func MayRefuse(request, line string) bool {
	return strings.Contains(strings.ReplaceAll(line, " ", ""), "7F"+request[:2])
}

// MayAnswer tells whether some line can be the answer to the request: a status text, or
// anything that holds the first bytes of a reply to it. The adapter's own commands are not
// answered by a frame or by what is said of a request to the car.
func MayAnswer(x *obd.Exchange) bool {
	a := ParseQuestion(x.Request)
	if x.Request == "" {
		return true // nothing was asked
	}
	if a.N == 0 {
		return slices.ContainsFunc(x.Lines, func(l obd.Line) bool { return l.At >= x.Sent && !FromCar(strings.TrimSpace(l.Text)) })
	}
	for i := range x.Lines {
		text := x.Lines[i].Text
		if st, _ := StatusOf(strings.TrimSpace(text)); st != nil && st.Text != "OK" || MayRefuse(x.Request, text) {
			return true
		}
		if a.NamedIn(text) {
			return true
		}
	}
	return false
}

// FromCar tells whether a line is about a request to the car: a frame, or that there was none.
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

// TellsVIN tells whether the answer to a request holds the identification number (SAE J1979
// service 09, SAE J1979-2, ISO 14229-1).
func TellsVIN(request string) bool {
	return strings.HasPrefix(request, "0902") || strings.HasPrefix(request, "22F802") || strings.HasPrefix(request, "22F190")
}
