package recording

import (
	"strings"

	"github.com/judder-obd/judder/obd"
)

// Files that were written before link lines had a cause name it in words only. These are the texts
// that must not mislead a reader of such a file: a link that is down because somebody ended the
// session is not lost. The others stay words.
var oldCauses = []struct {
	begin string
	cause obd.Cause
}{
	{"session ended", obd.CauseEnded},
	{"asked what was asked for", obd.CauseCheckOver},
	{"opening ", obd.CauseOpening},
	{"adapter found on ", obd.CauseAdapterFound},
}

// The notes with which a code check began and ended before it had lines of its own. Only a header
// without a revision makes a note a check: where the header is damaged, notes stay notes.
const (
	oldCheckBegins = "standing check begins"
	oldCheckOver   = "standing check over: "
	oldCheckBroke  = "standing check broke off, not whole: "
	oldCheckKept   = "kept in "
)

// oldCheck is the entry of a check that a note of an older file means; any other entry stays.
func oldCheck(e Entry) Entry {
	if e.Kind != KindNote {
		return e
	}
	if e.Mark.Text == oldCheckBegins {
		return OfCheck(e.At, Check{State: CheckBegun})
	}
	state := CheckOver
	rest, ended := strings.CutPrefix(e.Mark.Text, oldCheckOver)
	if !ended {
		state = CheckBroke
		if rest, ended = strings.CutPrefix(e.Mark.Text, oldCheckBroke); !ended {
			return e
		}
	}
	kept, ok := strings.CutPrefix(rest, oldCheckKept)
	if !ok {
		kept = ""
	}
	return OfCheck(e.At, Check{state, kept})
}

// oldCause is the cause that a link line without one has in its text.
func oldCause(text string) obd.Cause {
	for _, o := range oldCauses {
		if strings.HasPrefix(text, o.begin) {
			return o.cause
		}
	}
	return obd.CauseUnknown
}
