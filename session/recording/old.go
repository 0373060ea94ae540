package recording

import (
	"strings"

	"judder/obd"
)

// Files that were written before link lines had a cause name it in words only. These are the
// texts by which a reader of such a file must not be misled: a link that is down because
// somebody ended the session is not lost. The others stay words.
var oldCauses = []struct {
	begin string
	cause obd.Cause
}{
	{"session ended", obd.CauseEnded},
	{"asked what was asked for", obd.CauseCheckOver},
	{"opening ", obd.CauseOpening},
	{"adapter found on ", obd.CauseAdapterFound},
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
