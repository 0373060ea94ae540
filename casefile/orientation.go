package casefile

import (
	"bytes"
	"encoding/binary"
	"errors"
	"image"
	"io"
)

// segments goes through the segments of a JPEG file up to its picture (ITU-T T.81, annex B):
//
//	FF D8 · FF marker length(2, with itself) data … · FF DA picture
type segments struct {
	rest   []byte
	begun  bool
	marker byte
	data   []byte
	err    error // io.EOF at the picture
}

var errNoJPEG = errors.New("no JPEG")

func (s *segments) next() bool {
	if !s.begun {
		var ok bool
		if s.rest, ok = bytes.CutPrefix(s.rest, []byte{0xFF, 0xD8}); !ok {
			s.err = errNoJPEG
			return false
		}
		s.begun = true
	}
	for len(s.rest) > 1 && s.rest[0] == 0xFF && s.rest[1] == 0xFF { // fill bytes
		s.rest = s.rest[1:]
	}
	if len(s.rest) < 4 || s.rest[0] != 0xFF {
		s.err = errNoJPEG
		return false
	}
	s.marker = s.rest[1]
	if s.marker == 0xDA {
		s.err = io.EOF
		return false
	}
	n := int(binary.BigEndian.Uint16(s.rest[2:]))
	if n < 2 || 2+n > len(s.rest) {
		s.err = errNoJPEG
		return false
	}
	s.data, s.rest = s.rest[4:2+n], s.rest[2+n:]
	return true
}

// orientation is how a camera was held, 1 to 8 (Exif 2.3, tag 0112: 1 is upright, 6 is to be turned
// right); 1 where the file does not say.
func orientation(photo []byte) int {
	s := segments{rest: photo}
	for s.next() {
		if exif, ok := bytes.CutPrefix(s.data, []byte("Exif\x00\x00")); ok && s.marker == 0xE1 {
			if o := tiffOrientation(exif); o >= 1 && o <= 8 {
				return o
			}
		}
	}
	return 1
}

// tiffOrientation reads tag 0112 of the first directory of a TIFF block (TIFF 6.0): order of bytes,
// 42, offset of the directory; a count of entries of twelve bytes: tag, type, count, value.
func tiffOrientation(tiff []byte) int {
	var order binary.ByteOrder = binary.BigEndian
	if bytes.HasPrefix(tiff, []byte("II")) {
		order = binary.LittleEndian
	}
	if len(tiff) < 8 {
		return 0
	}
	at := uint64(order.Uint32(tiff[4:]))
	if at+2 > uint64(len(tiff)) {
		return 0
	}
	count := uint64(order.Uint16(tiff[at:]))
	for i := range count {
		e := at + 2 + 12*i
		if e+12 > uint64(len(tiff)) {
			return 0
		}
		const tag, short = 0x0112, 3
		if order.Uint16(tiff[e:]) == tag && order.Uint16(tiff[e+2:]) == short {
			return int(order.Uint16(tiff[e+8:]))
		}
	}
	return 0
}

// upright turns and mirrors a picture as its orientation asks for.
func upright(in *image.RGBA, o int) *image.RGBA {
	if o == 1 {
		return in
	}
	w, h := in.Rect.Dx(), in.Rect.Dy()
	size := image.Rect(0, 0, w, h)
	if o >= 5 { // lies on its side
		size = image.Rect(0, 0, h, w)
	}
	out := image.NewRGBA(size)
	for y := range h {
		for x := range w {
			right, down := w-1-x, h-1-y
			to := [...]image.Point{1: {x, y}, 2: {right, y}, 3: {right, down}, 4: {x, down}, 5: {y, x}, 6: {down, x}, 7: {down, right}, 8: {y, right}}[o]
			out.SetRGBA(to.X, to.Y, in.RGBAAt(x, y))
		}
	}
	return out
}
