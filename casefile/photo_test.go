package casefile

import (
	"bytes"
	"encoding/binary"
	"errors"
	"hash/crc32"
	"image"
	"image/color"
	"image/png"
	"io"
	"path/filepath"
	"testing"
)

// exif is an APP1 segment with an orientation, laid out by hand after Exif 2.3 and TIFF 6.0: a
// directory of one entry. behind stands for what else a camera keeps there.
func exif(order binary.AppendByteOrder, mark string, orientation uint16, behind string) []byte {
	tiff := []byte(mark)
	tiff = order.AppendUint16(tiff, 42)
	tiff = order.AppendUint32(tiff, 8)
	tiff = order.AppendUint16(tiff, 1)
	tiff = order.AppendUint16(tiff, 0x0112)
	tiff = order.AppendUint16(tiff, 3)
	tiff = order.AppendUint32(tiff, 1)
	tiff = order.AppendUint16(tiff, orientation)
	tiff = append(tiff, 0, 0, 0, 0, 0, 0)
	data := append([]byte("Exif\x00\x00"), append(tiff, behind...)...)
	return append(binary.BigEndian.AppendUint16([]byte{0xFF, 0xE1}, uint16(len(data)+2)), data...)
}

// withExif puts a segment behind the start of a JPEG file.
func withExif(photo, segment []byte) []byte {
	return append(append(bytes.Clone(photo[:2]), segment...), photo[2:]...)
}

// The copy is small, upright and holds a picture alone. The stored picture is dark at its left; how
// each orientation shows it is the table of Exif 2.3, tag 0112.
func TestShrink(t *testing.T) {
	const secret = "N 48 12.34 camera 007"
	for o, dark := range map[uint16]string{1: "left", 2: "right", 3: "right", 4: "left", 5: "top", 6: "top", 7: "bottom", 8: "bottom"} {
		var order binary.AppendByteOrder = binary.BigEndian
		mark := "MM"
		if o%2 == 0 {
			order, mark = binary.LittleEndian, "II"
		}
		photo := withExif(photoOf(t, 1600, 800), exif(order, mark, o, secret))
		if bare(photo) || orientation(photo) != int(o) {
			t.Errorf("orientation %d was read as %d", o, orientation(photo))
		}
		copied, err := Shrink(photo)
		if err != nil {
			t.Fatal(err)
		}
		img, kind, err := image.Decode(bytes.NewReader(copied))
		if err != nil || kind != "jpeg" || !bare(copied) || bytes.Contains(copied, []byte(secret)) {
			t.Fatalf("%v, %s, bare %v", err, kind, bare(copied))
		}
		w, h := img.Bounds().Dx(), img.Bounds().Dy()
		if lying := dark == "left" || dark == "right"; lying && (w != 1000 || h != 500) || !lying && (w != 500 || h != 1000) {
			t.Errorf("orientation %d: %d x %d", o, w, h)
		}
		at := map[string]image.Point{"left": {5, h / 2}, "right": {w - 5, h / 2}, "top": {w / 2, 5}, "bottom": {w / 2, h - 5}}
		for side, p := range at {
			if grey, _, _, _ := img.At(p.X, p.Y).RGBA(); (grey>>8 < 40) != (side == dark) {
				t.Errorf("orientation %d: %s has grey %d, dark is %s", o, side, grey>>8, dark)
			}
		}
	}
}

// hugePNG is the head of a PNG file of a size, with no picture behind it (ISO 15948, 11.2.2).
func hugePNG(w, h uint32) []byte {
	body := append(binary.BigEndian.AppendUint32(binary.BigEndian.AppendUint32([]byte("IHDR"), w), h), 8, 2, 0, 0, 0)
	b := append([]byte("\x89PNG\r\n\x1a\n"), 0, 0, 0, 13)
	return binary.BigEndian.AppendUint32(append(b, body...), crc32.ChecksumIEEE(body))
}

// A picture of 200 megapixels is refused before it is opened, and so is what is none; nothing is
// left in the case.
func TestShrink_Refused(t *testing.T) {
	f := newCase(t)
	dir := t.TempDir()
	for name, data := range map[string][]byte{"huge.png": hugePNG(20000, 10000)} {
		var big *PictureError
		if _, _, err := f.Add(put(t, filepath.Join(dir, name), data), Adding{Now: noon}); !errors.As(err, &big) {
			t.Errorf("%s: %v", name, err)
		}
	}
	for name, want := range map[string]error{"none.jpg": ErrNoPhoto, "phone.heic": ErrForeignPhoto, "wide.png": ErrNoPhoto} {
		data := []byte("<html>" + name)
		if name == "wide.png" { // more bytes than a machine can count
			data = hugePNG(1<<31-1, 1<<31-1)
		}
		if _, _, err := f.Add(put(t, filepath.Join(dir, name), data), Adding{Now: noon}); !errors.Is(err, want) {
			t.Errorf("%s: %v", name, err)
		}
	}
	cut := photoOf(t, 100, 100)
	if _, _, err := f.Add(put(t, filepath.Join(dir, "cut.jpg"), cut[:len(cut)/2]), Adding{Now: noon}); err == nil {
		t.Error("half a photo was taken")
	}
	if names, err := f.Unlisted(); len(f.Case.Files) != 0 || err != nil || len(names) != 0 {
		t.Errorf("left in the case: %v %v %v", f.Case.Files, names, err)
	}
}

// A transparent picture is shown on white; a copy that holds more than a picture is made again.
func TestPhoto_Copies(t *testing.T) {
	clear := image.NewNRGBA(image.Rect(0, 0, 20, 10))
	clear.Set(0, 0, color.NRGBA{})
	var b bytes.Buffer
	if err := png.Encode(&b, clear); err != nil {
		t.Fatal(err)
	}
	f := newCase(t)
	row := mustAdd(t, f, put(t, filepath.Join(t.TempDir(), "clear.png"), b.Bytes()), Adding{Now: noon})
	first := f.Gather().Photos[0]
	img, _, err := image.Decode(bytes.NewReader(first.JPEG))
	if err != nil || first.Err != nil {
		t.Fatal(err, first.Err)
	}
	if grey, _, _, _ := img.At(10, 5).RGBA(); grey>>8 < 250 || img.Bounds().Dx() != 20 {
		t.Errorf("grey %d, %v", grey>>8, img.Bounds())
	}
	put(t, f.Path("photos/small/clear.png.jpg"), withExif(first.JPEG, exif(binary.BigEndian, "MM", 1, "place")))
	if again := f.Gather().Photos[0]; again.Err != nil || !bare(again.JPEG) || row.Kind != Photo {
		t.Errorf("the copy was not made again: %v", again.Err)
	}
}

// Whatever the bytes are, reading them ends and stays inside them.
func FuzzOrientation(f *testing.F) {
	f.Add([]byte{0xFF, 0xD8})
	f.Add(withExif([]byte{0xFF, 0xD8, 0xFF, 0xDA, 0, 2}, exif(binary.LittleEndian, "II", 6, "")))
	f.Fuzz(func(t *testing.T, data []byte) {
		if o := orientation(data); o < 1 || o > 8 {
			t.Fatalf("orientation %d", o)
		}
		s := segments{rest: data}
		for s.next() {
		}
		if s.err == nil || !errors.Is(s.err, io.EOF) && bare(data) {
			t.Fatal(s.err)
		}
	})
}
