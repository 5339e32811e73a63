//! Random figures that are the same on every system.

/// SplitMix64 (Steele, Lea and Flood, OOPSLA 2014, from memory).
pub struct Random(pub u64);

#[allow(dead_code, reason = "each test uses some of it")]
impl Random {
    /// 64 random bits.
    pub fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A figure from the one, and not up to the other.
    pub fn within(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * ((self.next() >> 11) as f64 / (1_u64 << 53) as f64)
    }

    /// A figure of the standard normal distribution (Box and Muller, Ann. Math. Stat. 29 (1958) 610, from memory).
    pub fn normal(&mut self) -> f64 {
        let (one, other) = (self.within(0.0, 1.0), self.within(0.0, 1.0));
        (-2.0 * libm::log(1.0 - one)).sqrt() * libm::cos(2.0 * core::f64::consts::PI * other)
    }

    /// A whole number below a count.
    pub fn below(&mut self, count: u64) -> u64 {
        self.next() % count
    }

    /// True once in so many times.
    pub fn chance(&mut self, one_in: u64) -> bool {
        self.below(one_in) == 0
    }
}
