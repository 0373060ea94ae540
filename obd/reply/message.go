package reply

import "time"

// Message is one whole reply of one ECU.
type Message struct {
	At    time.Duration // when its last line came
	ECU   string        // source as the header shows it ("7E8", "18DAF110", "10"); "" when bare
	Data  []byte        // service first: 41 0C 1A F8, or 7F 01 12; valid until the next exchange
	Parts []Part        // the lines of this exchange that it was made of; valid as long

	asked []byte  // the items of the request that it answers
	from  *source // nil when bare

	// Late is set when it answers an earlier request than that of the exchange.
	Late bool
	// Bare is set when it came without a header though the form has one: the adapter has lost
	// its settings and did not report it.
	Bare bool
}

// Part is the part of a message that one line holds. A line of an earlier exchange has none.
type Part struct {
	Line     int // index of the line in the exchange
	Start    int // where in its text the first digit of the first byte is
	From, To int // which bytes of Data these are; none of the length line of a reply without headers
}

// Whole reports whether every byte of the message came in lines of this exchange.
func (m *Message) Whole() bool {
	n := 0
	for _, p := range m.Parts {
		n += p.To - p.From
	}
	return n == len(m.Data)
}

// origin is the line that is being read.
type origin struct {
	line int // its index in the exchange
	at   time.Duration
	end  int // where the text of the line ends, trimmed
}

// part is the part of a message that a frame holds: from the byte control of the frame on, from
// the byte from of the message on. text is the end of the line from the frame's first digit on.
func (o origin) part(text string, f *frame, control, from int) Part {
	digits, start := f.head+2*control, 0
	for ; start < len(text); start++ {
		if text[start] == ' ' {
			continue
		}
		if digits == 0 {
			break
		}
		digits--
	}
	return Part{Line: o.line, Start: o.end - len(text) + start, From: from, To: from + len(f.bytes) - control}
}

// Negative reports whether the reply is a refusal, and its code (ISO 14229-1).
func (m Message) Negative() (code byte, yes bool) {
	if len(m.Data) >= 3 && m.Data[0] == negative {
		return m.Data[2], true
	}
	return 0, false
}

// Waits reports whether the ECU asks to wait: received, the answer comes later (ISO 14229-1: 78).
func (m Message) Waits() bool {
	code, yes := m.Negative()
	return yes && code == ResponsePending
}
