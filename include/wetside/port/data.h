/* The shipped phrases of data/ as bytes in the binary. Each ends with a zero byte that its size
 * does not count. */
#ifndef WETSIDE_PORT_DATA_H
#define WETSIDE_PORT_DATA_H

extern const unsigned char ws_data_phrases_en[];
extern const unsigned long ws_data_phrases_en_size;
extern const unsigned char ws_data_phrases_de[];
extern const unsigned long ws_data_phrases_de_size;

#endif
