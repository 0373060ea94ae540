package prose

import (
	"fmt"
	"time"
)

// Clock writes a time of the drive: "0:12:41", and "-" first before the start.
func Clock(t time.Duration) string {
	sign := ""
	if t < 0 {
		sign, t = "-", -t
	}
	s := int64(t / time.Second)
	return fmt.Sprintf("%s%d:%02d:%02d", sign, s/3600, s/60%60, s%60)
}

// Duration writes a length of time: "3.2 s", "24 s", "4:10 min", "1:02 h"; "– s" where it is
// negative, which means not known. It is cut and not rounded, so that what is short of enough is
// not written as enough.
func Duration(t time.Duration) string {
	tenths := int(t.Round(time.Millisecond) / (100 * time.Millisecond)) // a sum of seconds may be a hair short
	whole := tenths / 10
	switch {
	case t < 0:
		return "– s"
	case whole < 10:
		return fmt.Sprintf("%d.%d s", whole, tenths%10)
	case whole < 60:
		return fmt.Sprintf("%d s", whole)
	case whole < 3600:
		return fmt.Sprintf("%d:%02d min", whole/60, whole%60)
	}
	return fmt.Sprintf("%d:%02d h", whole/3600, whole/60%60)
}
