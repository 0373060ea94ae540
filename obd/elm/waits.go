package elm

import "time"

// How long to wait for the end of an exchange. The adapter's own waits are in the ELM327 data
// sheet: up to about 1 s for a reset (p. 9), 200 ms for a reply (p. 27). A protocol search takes
// up to some 20 s (common practice, no source).
const (
	WaitIdentify = 500 * time.Millisecond
	WaitReset    = 3 * time.Second
	WaitSetting  = time.Second
	WaitSearch   = 22 * time.Second
	WaitReply    = 2 * time.Second
	WaitReplyBus = 6 * time.Second // K-line: it may have to be woken first; a longer wait is a search
)
