package recording

import "hash/maphash"

const (
	internSlots  = 1024
	internLength = 64 // longer texts hardly ever repeat
)

// interner gives one string for equal texts that come again and again, as the requests of
// a drive do. It is a table without chains: a newcomer drives out the old holder of its
// slot, so its memory is bounded whatever a file holds.
type interner struct {
	seed  maphash.Seed
	slots [internSlots]string
}

func newInterner() *interner { return &interner{seed: maphash.MakeSeed()} }

// get gives a string equal to b.
func (in *interner) get(b []byte) string {
	if len(b) == 0 {
		return ""
	}
	if len(b) > internLength {
		return string(b)
	}
	slot := &in.slots[maphash.Bytes(in.seed, b)%internSlots]
	if *slot != string(b) {
		*slot = string(b)
	}
	return *slot
}
