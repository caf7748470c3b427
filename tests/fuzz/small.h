/* The smallest world with everything in it, as texts, for the fuzzers that need one around what
 * they try. */
#ifndef TESTS_FUZZ_SMALL_H
#define TESTS_FUZZ_SMALL_H

#define SMALL_METALS                                                                               \
    "{\"format\":\"threepass-metals-1\",\"metals\":[{\"name\":\"brass\",\"group\":\"non-fer"       \
    "rous\",\"condition\":\"soft\",\"at_c\":20,\"resistivity_ohm_m\":6e-08,\"resistivity_un"       \
    "certainty\":0,\"resistivity_per_k\":0,\"resistivity_source\":\"none\",\"relative_perme"       \
    "ability\":1,\"relative_permeability_low\":1,\"relative_permeability_high\":1,\"relativ"       \
    "e_permeability_source\":\"none\",\"note\":\"for this program alone\"}]}"

#define SMALL_KINDS                                                                                \
    "{\"format\":\"threepass-kinds-1\",\"heads\":[{\"id\":\"tunnel\",\"coil_clearance_mm\":"       \
    "20,\"receiver_offset_of_coil_height\":0.35,\"source\":\"none\"}],\"products\":[{\"id\""       \
    ":\"dry\",\"conductivity_s_per_m\":0.0001,\"amplitude_variation\":0.05,\"phase_variatio"       \
    "n_rad\":0.02,\"at_c\":20,\"per_k\":0,\"source\":\"none\"}]}"

#define SMALL_SITE                                                                                 \
    "{\"format\":\"threepass-site-1\",\"id\":\"ostrel-mill\",\"name\":{\"en\":\"M\"},\"lang"       \
    "uages\":[\"en\"],\"heads\":[{\"id\":\"d-small\",\"kind\":\"tunnel\",\"aperture_width_m"       \
    "m\":300,\"aperture_height_mm\":100,\"frequency_khz\":350,\"false_reject_rate\":1e-06}]"       \
    ",\"products\":[{\"id\":\"butter-200\",\"kind\":\"dry\",\"name\":{\"en\":\"B\"},\"lengt"       \
    "h_mm\":110,\"width_mm\":70,\"height_mm\":40,\"piece_goes\":[\"on-top\"]}],\"pieces\":["       \
    "{\"id\":\"FE-15-03\",\"metal\":\"brass\",\"diameter_mm\":2,\"form\":\"card\",\"certifi"       \
    "cate\":\"C\",\"good_until\":\"2027-03-31\"},{\"id\":\"NF-20-05\",\"metal\":\"brass\","        \
    "\"diameter_mm\":2,\"form\":\"card\",\"certificate\":\"C\",\"good_until\":\"2027-03-31"        \
    "\"},{\"id\":\"SS-25-07\",\"metal\":\"brass\",\"diameter_mm\":2,\"form\":\"card\",\"cer"       \
    "tificate\":\"C\",\"good_until\":\"2027-03-31\"},{\"id\":\"SS-45-02\",\"metal\":\"brass"       \
    "\",\"diameter_mm\":2,\"form\":\"card\",\"certificate\":\"C\",\"good_until\":\"2027-03-"       \
    "31\"},{\"id\":\"NF-20-01\",\"metal\":\"brass\",\"diameter_mm\":2,\"form\":\"card\",\"c"       \
    "ertificate\":\"C\",\"good_until\":\"2027-03-31\"},{\"id\":\"FE-15-01\",\"metal\":\"bra"       \
    "ss\",\"diameter_mm\":2,\"form\":\"card\",\"certificate\":\"C\",\"good_until\":\"2027-0"       \
    "3-31\"},{\"id\":\"WIRE-12\",\"metal\":\"brass\",\"diameter_mm\":0.5,\"length_mm\":12,"        \
    "\"form\":\"wire\"}],\"lines\":[{\"id\":\"d1\",\"name\":{\"en\":\"D1\"},\"head\":\"d-sm"       \
    "all\",\"belt_mm_s\":500,\"packs_per_minute\":80,\"reject\":{\"kind\":\"flap\",\"at_mm"        \
    "\":900,\"started_by\":\"signal\",\"timed_by\":\"timer\",\"stroke_ms\":120,\"bin_packs"        \
    "\":40},\"programs\":[{\"product\":\"butter-200\",\"validated\":[{\"metal\":\"brass\","        \
    "\"diameter_mm\":2}]}],\"check_plans\":{\"start\":{\"passes\":[{\"pieces\":[\"brass\"],"       \
    "\"places\":[\"middle\"],\"order\":\"by-place\"}],\"good_run\":1,\"bin_opened_by\":\"li"       \
    "ne-leader\"},\"interval\":{\"minutes\":60,\"passes\":[{\"pieces\":[\"brass\"],\"places"       \
    "\":[\"middle\"],\"order\":\"by-place\"}],\"good_run\":1,\"bin_opened_by\":\"line-leade"       \
    "r\"}}}]}"

#define SMALL_FITTED                                                                               \
    "{\"format\":\"threepass-fitted-1\",\"model\":1,\"heads\":[{\"id\":\"d-small\",\"noise_"       \
    "nv\":5,\"variation_factor\":1}]}"

#define SMALL_SCENARIO                                                                             \
    "{\"format\":\"threepass-scenario-1\",\"id\":\"s\",\"title\":{\"en\":\"S\"},\"site\":\""       \
    "ostrel-mill\",\"line\":\"d1\",\"role\":\"line-checker\",\"plan\":\"start\",\"minutes\""       \
    ":2,\"date\":\"2026-03-02\",\"clock\":\"06:00\",\"last_good_check\":\"06:00\",\"kit\":["       \
    "\"FE-15-03\",\"NF-20-05\",\"SS-25-07\",\"SS-45-02\",\"NF-20-01\",\"FE-15-01\"],\"stock"       \
    "\":[{\"place\":\"pallet\",\"from\":\"05:00\",\"to\":\"06:00\",\"packs\":10}],\"faults"        \
    "\":[{\"kind\":\"reject-late\",\"by_ms\":60,\"after_passes\":1}],\"scenes\":[{\"id\":\""       \
    "a\",\"kind\":\"tell\",\"text\":{\"en\":\"A\"}},{\"id\":\"b\",\"kind\":\"pass\",\"text"        \
    "\":{\"en\":\"B\"}},{\"id\":\"c\",\"kind\":\"write\",\"text\":{\"en\":\"C\"}}],\"rubric"       \
    "\":[{\"id\":\"r\",\"critical\":\"K4\",\"points\":1,\"text\":{\"en\":\"R\"},\"need\":{"        \
    "\"rule\":\"removal-seen\"}}],\"pass_percent\":80}"

#endif
