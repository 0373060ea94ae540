package reply

import (
	"strings"

	"github.com/judder-obd/judder/obd"
)

// InferForm finds the layout of reply lines from a reply whose first data bytes are known,
// such as "4100" for the request 0100: what is before them is the header.
func InferForm(x *obd.Exchange) obd.Form {
	r := ParseRequest(x.Request)
	if len(r.Items()) == 0 {
		return obd.FormUnknown
	}
	for i := range x.Lines {
		st, text := StatusOf(strings.TrimSpace(x.Lines[i].Text))
		if st != nil && st.Action != ActNothing {
			continue
		}
		text = strings.ReplaceAll(text, " ", "")
		for _, form := range []obd.Form{obd.FormCAN11, obd.FormCAN29, obd.FormKLine, obd.FormJ1850, obd.FormBare} {
			if f, _, ok := parseFrame(nil, form, text); ok && f.begins(form, &r) {
				return form
			}
		}
	}
	return obd.FormUnknown
}

// lowestReply is the lowest id on 11 bits that makers give to replies to diagnostic requests
// without more being said (common practice, no source; ISO 15765-4's begin at 7E8).
const lowestReply = 0x700

// begins reports whether a frame is the beginning of a reply to the request.
func (f *frame) begins(form obd.Form, r *Request) bool {
	b := f.bytes
	if form == obd.FormCAN11 && f.id < lowestReply {
		return false
	}
	if form.CAN() {
		if len(b) > 1 && b[0]>>4 == 1 { // first frame: two control bytes
			b = b[1:]
		}
		b = b[1:]
	}
	return len(b) > 1 && b[0] == r.Service()+positive && r.Has(b[1])
}
