package cert

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/x509"
	"encoding/pem"
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// read returns the certificates of a file, at least one, and its key if it has
// one.
func read(file string) ([]*x509.Certificate, *ecdsa.PrivateKey, error) {
	text, err := os.ReadFile(file)
	if err != nil {
		return nil, nil, err
	}
	var certs []*x509.Certificate
	var key *ecdsa.PrivateKey
	for block, rest := pem.Decode(text); block != nil; block, rest = pem.Decode(rest) {
		switch block.Type {
		case "CERTIFICATE":
			c, err := x509.ParseCertificate(block.Bytes)
			if err != nil {
				return nil, nil, fmt.Errorf("%s: %w", filepath.Base(file), err)
			}
			certs = append(certs, c)
		case "PRIVATE KEY":
			k, err := x509.ParsePKCS8PrivateKey(block.Bytes)
			if err != nil {
				return nil, nil, fmt.Errorf("%s: %w", filepath.Base(file), err)
			}
			key, _ = k.(*ecdsa.PrivateKey)
		}
	}
	if len(certs) == 0 {
		return nil, nil, fmt.Errorf("%s holds no certificate: put back the folder's backup", filepath.Base(file))
	}
	return certs, key, nil
}

// write puts the blocks into a file that is whole or not there, and stays.
func write(file string, blocks ...*pem.Block) error {
	var text bytes.Buffer
	for _, b := range blocks {
		if err := pem.Encode(&text, b); err != nil {
			return err
		}
	}
	f, err := os.CreateTemp(filepath.Dir(file), "new-*") // readable by its owner alone
	if err != nil {
		return err
	}
	defer os.Remove(f.Name())
	_, err = f.Write(text.Bytes())
	if err = errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), file); err != nil {
		return err
	}
	dir, err := os.Open(filepath.Dir(file))
	if err != nil {
		return err
	}
	return errors.Join(dir.Sync(), dir.Close())
}
